"""Amplitudes of all partials over time, and how the older ones are kept in fewer columns."""

from dataclasses import dataclass, field

import numpy as np

from dsp.partials import Basis, Phasors
from dsp.reading import Signal

_NEIGHBOURS = 1.0 / 6.0  # correlation of the noise in neighbouring half-overlapped Hann blocks
OVERLAP = 1.0 + 2.0 * _NEIGHBOURS  # how much larger that makes the variance of a mean over many blocks


def _nothing() -> Signal:
    return np.empty(0)


@dataclass(frozen=True, slots=True)
class Tracks:
    """Amplitudes of all partials over time."""

    time_s: Signal  # shape (j,), block centres on the note's clock
    phasor: Phasors  # shape (k, j), phases against the expected partials
    noise: Signal  # shape (j,), of one block
    base: Basis
    many: Signal = field(default_factory=_nothing)  # shape (j,), blocks in each column; 1 where not given

    def __post_init__(self) -> None:
        if self.many.size != self.time_s.size:
            object.__setattr__(self, "many", np.ones(self.time_s.size))

    @property
    def spread(self) -> Signal:
        """Variance of the noise in each column, against that of one block, (j,)."""
        return (OVERLAP - 2.0 * _NEIGHBOURS / self.many) / self.many

    def since(self, first: int) -> "Tracks":
        """The columns from `first` on."""
        return self.of(slice(first, None))

    def of(self, columns: slice) -> "Tracks":
        """Some of the columns."""
        return Tracks(
            self.time_s[columns],
            self.phasor[:, columns],
            self.noise[columns],
            self.base,
            self.many[columns],
        )


def joined(old: Tracks, new: Tracks) -> Tracks:
    """Two tracks of the same basis, one after the other."""
    return Tracks(
        np.concatenate([old.time_s, new.time_s]),
        np.concatenate([old.phasor, new.phasor], axis=1),
        np.concatenate([old.noise, new.noise]),
        new.base,
        np.concatenate([old.many, new.many]),
    )


def merged(tracks: Tracks, start: int, size: int, path: Signal) -> Tracks:
    """Tracks in which `size` columns from `start` on have become one, the mean of them.

    Parameters
    ----------
    path : phases in radians at those columns by which the partials are off the expected ones, (k, size);
        taken out before the mean and put back after it, so that only what they say beyond it is averaged
    """
    old = tracks.of(slice(start, start + size))
    mean = (old.phasor * np.exp(-1j * path)).mean(axis=1) * np.exp(1j * path.mean(axis=1))
    one = Tracks(
        old.time_s.mean(keepdims=True),
        mean[:, None],
        old.noise.mean(keepdims=True),
        old.base,
        old.many.sum(keepdims=True),
    )
    return joined(joined(tracks.of(slice(0, start)), one), tracks.since(start + size))
