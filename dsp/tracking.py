"""A sounding whose partials are followed, block after block, and fitted by a settling course.

The last second of blocks is kept. All of it is fitted anew each time (`dsp.settling`), averaged to a bounded
number of columns first, so a fit costs the same however long a string rings.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from dsp.coarse import Coarse
from dsp.columns import LEAST_COLUMNS, PER_CENT, columns_of
from dsp.partials import Basis, basis, blocks
from dsp.reading import Signal
from dsp.settling import Settled, solved
from dsp.sounding import Onset, Past
from dsp.tracks import Tracks, joined, tracks_of
from dsp.units import Cents, Hz, shifted

SKIP_S = 0.004  # of a pluck's first noise
SPAN_S = 1.0  # of phases fitted as one settling pitch; chosen: longer spans gain nothing on recorded strings
BOWED_SPAN_S = 0.45  # and under a bow, which keeps moving the pitch; chosen on `dsp.synthesis.bowing`
_RECENTRE_CENTS = 10.0  # further from the expected pitch than this, expect anew
_RECENTRE_ERROR = 6.0  # cents of standard error up to which that may be done
_ALWAYS_S = 0.15  # age up to which the course is solved for whenever a note is read, and then
_SOLVED_SHARE = 0.075  # whenever it has aged by this share,
_SOLVED_S = 0.09  # or by this: a course that is known changes ever more slowly
_BACK = 0.9  # share of the kept sound gone back over: the rest may be gone before it is read


@dataclass(frozen=True, slots=True)
class Followed:
    """Partials, their course so far, and what it says."""

    onset: Onset
    guess_hz: Hz  # the first guess
    base: Basis
    first: int  # decimated sample of the first block
    taken: int = 0  # blocks taken from there on
    tracks: Tracks | None = None
    trust: Signal | None = None  # weight of each partial, shape (k,)
    settled: Settled | None = None
    solved_s: float = 0.0  # age of the newest block that it was solved for with
    bowed: bool = False

    @property
    def frequency_hz(self) -> Hz | None:
        """The settled pitch; None before the first fit."""
        if self.settled is None:
            return None
        return shifted(self.base.frequency_hz, Cents(self.settled.cents))


def begin_tracking(onset: Onset, guess: Coarse, past: Past) -> Followed:
    """Follow this guess, from the start of the sounding or as far back as is kept."""
    base = basis(guess.frequency_hz, guess.inharmonicity, past.rate_hz, past.band_hz)
    first = onset.start + round(SKIP_S * past.rate_hz)
    return Followed(
        onset, guess.frequency_hz, base, max(first, past.count - math.floor(_BACK * past.sound.size))
    )


def grown(note: Followed, past: Past) -> Followed:
    """Add the blocks that have become complete."""
    base, rate = note.base, past.rate_hz
    total = (past.count - note.first - base.length) // base.hop + 1
    forgotten = past.count - past.sound.size - note.first  # where it was not followed for long
    taken = max(note.taken, math.ceil(forgotten / base.hop))
    if total <= taken:
        return note
    start = note.first + taken * base.hop
    start_s = (start - note.onset.start) / rate
    new = blocks(past.between(start, past.count), total - taken, base, start_s, rate)
    whole = joined(note.tracks, tracks_of(new.time_s, new.phasor, new.noise, base))
    span = BOWED_SPAN_S if note.bowed else SPAN_S
    return replace(note, tracks=whole.latest(span, LEAST_COLUMNS), taken=total)


def fitted(note: Followed, past: Past, *, turning: bool = False) -> Followed:
    """Bring blocks and pitch up to date; the settled pitch is kept while the string is being turned."""
    note = grown(note, past)
    if turning and note.settled is not None:
        return note
    if note.tracks is None or note.tracks.time_s.size < LEAST_COLUMNS or not _due(note):
        return note
    columns = columns_of(note.tracks, note.trust)
    if columns is None:
        return replace(note, settled=None)
    before = note.settled if float(note.tracks.time_s[-1]) > _ALWAYS_S else None
    found = solved(columns, bowed=note.bowed, near=None if before is None else before.size)
    trust = np.ones(note.base.harmonic.size) if note.trust is None else note.trust.copy()
    trust[columns.index] = found.trust
    return replace(note, settled=found, trust=trust, solved_s=float(note.tracks.time_s[-1]))


def _due(note: Followed) -> bool:
    """Whether enough was heard since the course was solved for."""
    assert note.tracks is not None
    newest = float(note.tracks.time_s[-1])
    wait = 0.0 if newest < _ALWAYS_S else min(_SOLVED_SHARE * newest, _SOLVED_S)
    return note.settled is None or newest - note.solved_s >= wait


def recentre_by(now_cents: float, std_error: float) -> float:
    """Cents by which to expect the partials elsewhere, 0 where they are near enough or not known."""
    return 0.0 if abs(now_cents) < _RECENTRE_CENTS or std_error > _RECENTRE_ERROR else now_cents


def moved_to(note: Followed, by: float, past: Past, reach_s: float) -> Followed:
    """The last `reach_s` of the note followed anew, `by` cents from the expected pitch; to be fitted."""
    pitch = shifted(note.base.frequency_hz, Cents(by))
    base = basis(pitch, note.base.inharmonicity, past.rate_hz, past.band_hz)
    kept = min(round(reach_s * past.rate_hz), math.floor(_BACK * past.sound.size)) + base.length
    trust = note.trust if base.harmonic.size == note.base.harmonic.size else None
    first = max(note.onset.start + round(SKIP_S * past.rate_hz), past.count - kept)
    return replace(note, base=base, first=first, taken=0, tracks=None, trust=trust, settled=None)


def rate_of(base: Basis) -> Signal:
    """Radians a second by which a cent advances the phase of each partial, shape (k,)."""
    return 2.0 * math.pi * PER_CENT * base.partial_hz
