"""What the tracker hears: sound of any block length in, hops of some 10 ms at a lower rate out.

Cutting into hops first makes the same stream give the same readings however it is fed. A hop is freed of
the sound card's offset, decimated and kept for a second and a half.

Samples that are not finite count as silence, and what lies beyond +-8 is held at that.
"""

import math
from collections import deque
from collections.abc import Iterator

import numpy as np

from dsp.decimation import decimation, thinning
from dsp.offset import without_offset
from dsp.onset import FRAMES
from dsp.reading import Samples, Signal
from dsp.sounding import Onset, Past
from dsp.units import Hz

_RATES_HZ = (8000.0, 192000.0)
_HOP_S = 0.01
_KEPT_S = 1.5  # of decimated sound
_LOUDEST = 8.0  # samples beyond are held there
_LEVEL_HOPS = 3  # in whose mean power the level is said
_LEAST_OWN = 0.1  # of that power counts as the sounding's own: what rang before it may have been stopped


class Intake:
    """The stream so far, at the lower rate, as far as it is kept."""

    def __init__(self, sample_rate_hz: float, highest_hz: Hz) -> None:
        self._rate = sample_rate_hz
        self._plan = decimation(sample_rate_hz, highest_hz)
        self._hop = FRAMES * max(1, round(_HOP_S * self._plan.rate_hz / FRAMES))
        self._raw_hop = self._hop * self._plan.factor
        self._stretch = np.zeros(self._plan.taps.size - 1 + self._raw_hop)  # what the filter looks at
        self._thinning = thinning(self._stretch, self._plan, FRAMES)
        self._offset: float | None = None  # of the sound card
        self._pending: list[Samples] = []
        self._waiting = 0
        self._kept = np.zeros(2 * round(_KEPT_S * self._plan.rate_hz))
        self._end = 0  # index in _kept after the newest sample
        self._count = 0  # decimated samples seen
        self._powers = deque((0.0,) * _LEVEL_HOPS, maxlen=round(_KEPT_S / _HOP_S))
        self.hops = 0  # seen so far
        self.hop = np.zeros(self._hop)  # the newest

    def hops_of(self, samples: Samples) -> Iterator[None]:
        """Take the next samples; steps once for every hop they complete.

        Raises ValueError where they are not one row of numbers.
        """
        block = np.array(samples, dtype=np.float32)
        if block.ndim != 1:
            raise ValueError(f"samples have shape {block.shape}; feed one channel, shape (n,)")
        self._pending.append(block)
        self._waiting += block.size
        if self._waiting < self._raw_hop:
            return
        stream = np.concatenate(self._pending)
        whole = stream.size // self._raw_hop * self._raw_hop
        self._pending = [stream[whole:].copy()]
        self._waiting = stream.size - whole
        for first in range(0, whole, self._raw_hop):
            self._take(stream[first : first + self._raw_hop])
            yield

    @property
    def time_s(self) -> float:
        """Of the newest sample, from the start of the stream."""
        return self.hops * self._raw_hop / self._rate

    def ringing(self, start: int) -> float:
        """Mean power of the 30 ms that ended a hop before a decimated sample: what sounded on beside it."""
        newer = self._hops_since(start) + 1  # a leap is noticed up to a hop late
        before = list(self._powers)[-newer - _LEVEL_HOPS : -newer]
        return sum(before) / _LEVEL_HOPS

    def loudest_dbfs(self, onset: Onset) -> float:
        """RMS level of a sounding's loudest 30 ms, as far back as is kept, without what rang beside it."""
        lately = list(self._powers)[-max(self._hops_since(onset.start), _LEVEL_HOPS) :]
        loudest = float(np.convolve(lately, np.full(_LEVEL_HOPS, 1.0 / _LEVEL_HOPS), "valid").max())
        own = max(loudest - onset.ringing, _LEAST_OWN * loudest)
        return 10.0 * math.log10(max(own, 1e-12))

    def _hops_since(self, start: int) -> int:
        return math.ceil((self._count - start) / self._hop)

    @property
    def past(self) -> Past:
        """What is kept."""
        return Past(self._kept[: self._end], self._count, self._plan.rate_hz, self._plan.band_hz)

    @property
    def hop_size(self) -> int:
        """Decimated samples in a hop."""
        return self._hop

    def _take(self, raw: Samples) -> None:
        """One hop."""
        self._stretch[: -self._raw_hop] = self._stretch[self._raw_hop :].copy()
        sound, self._offset = without_offset(cleaned(raw), self._offset, self._rate)
        self._stretch[-self._raw_hop :] = sound
        self._powers.append(float(sound @ sound) / sound.size)
        self.hop = self._thinning.thinned()
        self.hops += 1
        self._keep(self.hop)

    def _keep(self, hop: Signal) -> None:
        if self._end + hop.size > self._kept.size:
            half = self._kept.size // 2
            self._kept[:half] = self._kept[self._end - half : self._end]
            self._end = half
        self._kept[self._end : self._end + hop.size] = hop
        self._end += hop.size
        self._count += hop.size


def cleaned(raw: Samples) -> Signal:
    """The samples with what is not finite as silence and what is too loud held; a copy."""
    sound = raw.astype(np.float64)
    power = float(sound @ sound)
    if math.isfinite(power) and power <= _LOUDEST**2:
        return sound
    sound[~np.isfinite(sound)] = 0.0
    return np.clip(sound, -_LOUDEST, _LOUDEST)


def check_range(sample_rate_hz: float, lowest_hz: float, highest_hz: float) -> None:
    """Raise ValueError for a rate or a range of pitches that cannot be used."""
    low, high = _RATES_HZ
    if not (math.isfinite(sample_rate_hz) and low <= sample_rate_hz <= high):
        raise ValueError(
            f"sample rate {sample_rate_hz} Hz is outside {low:.0f} to {high:.0f} Hz; 48000 works"
        )
    if not (math.isfinite(lowest_hz) and math.isfinite(highest_hz) and 10.0 <= lowest_hz < highest_hz):
        raise ValueError(
            f"pitch range {lowest_hz} to {highest_hz} Hz needs a lowest pitch of at least 10 Hz below"
            " the highest; 82 to 1319 Hz suits a violin"
        )
    if highest_hz > sample_rate_hz / 4.0:
        raise ValueError(
            f"highest pitch {highest_hz} Hz is above a quarter of the sample rate {sample_rate_hz} Hz;"
            " lower it or raise the rate"
        )
