"""Whether what sounds is a string at all, and not a voice, a knock or a chord.

A plucked string is loudest at once: from its first moments on the power in its partials falls, and
its pitch follows the course of a settling string. A voice swells, its partials come and go with the
vowel, and its pitch runs. So a sounding that looks plucked is believed at once. Any other, a bowed
string for one, must first hold its pitch for a while.
"""

import numpy as np

from dsp.sounding import Sounding

_GROWS = 1.2  # power of all partials, latest block over first, that a pluck does not pass
_SOME_GROW = 0.15  # share of the power in partials that have grown
_GROWN = 1.4  # in power: such a partial has grown
_STRAYS = 4.0  # variance ratio of the pitch about a settling course that a pluck does not pass
_HOLD_S = 0.22  # for which an unplucked pitch must hold
_HOLD_SLOPE = 35.0  # cents per second it may move meanwhile: a bow sways, a voice runs


def believed(note: Sounding) -> bool:
    """Whether to give readings of it."""
    if note.settled is None or note.tracks is None:
        return False
    return _looks_plucked(note) or _holds(note)


def _looks_plucked(note: Sounding) -> bool:
    assert note.tracks is not None
    assert note.settled is not None
    if not note.plucked or note.tracks.time_s.size < 2:
        return False
    power = np.abs(note.tracks.phasor) ** 2
    first, last = power[:, 0], power[:, -1]
    total = float(last.sum())
    grown = float(last[last > _GROWN * first].sum())
    return (
        total < _GROWS * float(first.sum()) and grown < _SOME_GROW * total and note.settled.wander < _STRAYS
    )


def _holds(note: Sounding) -> bool:
    assert note.tracks is not None
    time = note.tracks.time_s
    if time[-1] - time[0] < _HOLD_S or note.turned is None:
        return False
    return abs(float(note.turned.x[1])) < _HOLD_SLOPE
