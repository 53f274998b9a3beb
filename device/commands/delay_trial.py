"""Measures how late the loudspeaker is heard by the microphone: what Count takes off each stroke.

A child plucks with the clicks, which sound late by as long as the loudspeaker takes; the pluck is heard
late by as long as the microphone takes. Both together are what lies between handing over a click and finding
it in the microphone.
"""

import statistics
from collections.abc import Callable

import numpy as np

from device.commands.trials import PACE_S, Bench, Finding
from device.errors import PartError
from device.ports import Microphone, Speaker
from device.runtime.tone_out import TONE_RATE_HZ
from dsp import Samples, Seconds
from dsp.clicks import Click, clicks, one_click

TIMES = 7  # clicks; the median of them counts
_LEAD_S = Seconds(0.1)  # as in Count: so long before the click its sound is handed over
_WAITS_S = Seconds(0.9)  # for one click; a delay beyond 0.4 s cannot be set
_CLEAR = 6.0  # in amplitude over the rest of what was heard: chosen
_LEAST_FOUND = 4
_SPREAD_S = 0.02  # between the quarters; above, the clicks come so unevenly that it is said
_LEAST_RATE_HZ = 16_000


def try_delay(
    bench: Bench,
    opened: Callable[[], Microphone],
    speaker: Callable[[], Speaker] | None,
    level_dbfs: float,
) -> Finding:
    """Play some clicks and find them; the median delay with the line that sets it."""
    if speaker is None:
        return Finding("delay", None, "no loudspeaker is fitted")
    parts: list[Microphone | Speaker] = []
    try:
        microphone, player = opened(), None
        parts.append(microphone)
        player = speaker()
        parts.append(player)
        if microphone.sample_rate_hz < _LEAST_RATE_HZ:
            said = f"{microphone.sample_rate_hz} samples a second are too few to hear the clicks"
            return Finding("delay", None, f"{said}; {_LEAST_RATE_HZ} and more will do")
        delays = [_one(bench, microphone, player, level_dbfs) for _ in range(TIMES)]
    except PartError as why:
        return Finding("delay", False, str(why))
    finally:
        for part in parts:
            part.close()
    return _finding(sorted(delay for delay in delays if delay is not None))


def _finding(found: list[float]) -> Finding:
    if len(found) < _LEAST_FOUND:
        said = f"only {len(found)} of {TIMES} clicks were heard"
        return Finding("delay", None, f"{said}; turn the loudspeaker up or set sound_delay_ms by hand")
    delay_ms = 1000.0 * statistics.median(found)
    low, _, high = statistics.quantiles(found, n=4)
    uneven = f"; uneven by {1000.0 * (high - low):.0f} ms" if high - low > _SPREAD_S else ""
    line = f"sound_delay_ms = {max(delay_ms, 0.0):.0f}"
    return Finding("delay", True, f'clicks are heard after {delay_ms:.0f} ms{uneven}; set "{line}"')


def _one(bench: Bench, microphone: Microphone, speaker: Speaker, level_dbfs: float) -> float | None:
    """Seconds from the moment a click was meant for to the one at which it was heard; None: not found."""
    microphone.read()
    begun = bench.clock.now()
    speaker.play(clicks([Click(_LEAD_S)], TONE_RATE_HZ, level_dbfs), TONE_RATE_HZ)
    heard, ends, last = 0, list[tuple[Seconds, int]](), list[Samples]()
    while bench.clock.now() - begun < _WAITS_S:
        bench.clock.sleep(PACE_S)
        block = microphone.read()
        if len(block) == 0:
            continue
        heard += len(block)
        last.append(block)
        ends.append((bench.clock.now(), heard))
    speaker.stop()
    if not last:
        return None
    rate = microphone.sample_rate_hz
    first_s = min(at - count / rate for at, count in ends)  # a block is never early, and late at times
    place = found_click(np.concatenate(last), rate)
    return None if place is None else first_s + place - begun - _LEAD_S


def found_click(sound: Samples, rate_hz: float) -> Seconds | None:
    """When a click begins in a stretch of sound, by a filter matched to it; None where none stands out."""
    shape = one_click(False, rate_hz, 0.0).astype(np.float64)
    if len(sound) <= len(shape):
        return None
    size = 1 << (len(sound) + len(shape)).bit_length()
    matched = np.fft.rfft(sound, size) * np.conj(np.fft.rfft(shape, size))
    half = np.zeros(size, np.complex128)
    half[: matched.size] = 2.0 * matched  # the analytic signal: its magnitude is the envelope
    envelope = np.abs(np.fft.ifft(half))[: len(sound) - len(shape)]
    place = int(np.argmax(envelope))
    rest = np.delete(envelope, slice(max(0, place - 2 * len(shape)), place + 2 * len(shape)))
    if rest.size == 0 or envelope[place] <= _CLEAR * float(np.quantile(rest, 0.9)) or envelope[place] <= 0.0:
        return None
    return Seconds(place / rate_hz)
