"""Whether what sounds is a string at all, and not a voice, a knock or a chord.

A plucked string is loudest at once: from its first moments on the power in its partials falls, and
its pitch follows the course of a settling string. A voice swells, its partials come and go with the
vowel, and its pitch runs. So a sounding that looks plucked is believed at once. Any other, a bowed
string for one, must first hold its pitch for a while.
"""

import numpy as np

from dsp.room import among_bursts
from dsp.sounding import LEAST_BLOCKS, Past, Sounding

_GROWS = 1.25  # power of all partials, loudest block over first, that a pluck does not pass
_SOME_GROW = 0.15  # share of the power in partials that have grown
_GROWN = 1.4  # in power: such a partial has grown
_STRAYS = 3.0  # variance ratio of the pitch about a settling course that a pluck does not pass
_IMPURE = 0.06  # power at right angles over expected power that a pluck does not pass; at 5 dB it has 0.01
_FASTEST = 220.0  # cents per second: no hand turns faster
_CLEAR = 4.0  # power of the partials over their noise, for belief
_UNSURE_CENTS = 8.0  # standard error above which nothing is believed
_CLEAR_PITCH = 3.0  # nats: a pitch that stands out less must ring as well
_CLEAR_PARTIALS = 3  # wood may ring with two that happen to fit
_EARLY_S = 0.12  # age of the last block up to which ringing need not be shown; 12 periods if those are longer
_RING_S = 0.08  # for at least this long
_RING_DB_PER_S = 120.0  # and die no faster: wood dies at 200 and more
_DOUBT = 0.1  # about the octave that a note this young must dispel first
_DOUBTS_S = 0.15
_STAYS_S = 0.14  # age at which a pluck among other bursts may be believed
_STAYS_SLOPE = 50.0  # cents per second it may move then; voices run at 100 and more
_HOLD_S = 0.3  # for which an unplucked pitch must hold
_HOLD_PITCH = 6.0  # nats by which that pitch must stand out
_HOLD_SLOPE = 35.0  # cents per second it may move meanwhile: a bow sways, a voice runs


def believed(note: Sounding, past: Past) -> bool:
    """Whether to give readings of it."""
    if note.settled is None or note.tracks is None or note.tracks.time_s.size < LEAST_BLOCKS:
        return False
    if note.settled.late_signal < _CLEAR or note.settled.misfit > _IMPURE:
        return False
    if note.settled.std_error[0] > _UNSURE_CENTS or not (
        _rings(note) or (_is_clear(note) and _is_early(note))
    ):
        return False
    if note.octave_doubt > _DOUBT and float(note.tracks.time_s[-1]) < _DOUBTS_S:
        return False
    return (looks_plucked(note) and (_stays(note) or not _in_talk(note, past))) or _holds(note)


def _is_clear(note: Sounding) -> bool:
    coarse = note.coarse
    return coarse is not None and coarse.strength > _CLEAR_PITCH and coarse.partials >= _CLEAR_PARTIALS


def _in_talk(note: Sounding, past: Past) -> bool:
    """Whether it leapt up among bursts that were no string of ours."""
    return not note.follows and among_bursts(note, past)


def _stays(note: Sounding) -> bool:
    """Whether its pitch has stayed long enough for a voice to have moved on."""
    assert note.tracks is not None
    if note.tracks.time_s[-1] < _STAYS_S or note.turned is None:
        return False
    return _rings(note) and abs(float(note.turned.x[1])) < _STAYS_SLOPE


def _is_early(note: Sounding) -> bool:
    """A string speaks at once; only noise can hold it up, or a bow."""
    assert note.tracks is not None
    return float(note.tracks.time_s[-1]) < _EARLY_S


def _rings(note: Sounding) -> bool:
    """A knock on wood may have a pitch, but it is gone at once."""
    assert note.tracks is not None
    time = note.tracks.time_s
    power = (np.abs(note.tracks.phasor[:, [0, -1]]) ** 2).sum(axis=0)
    span = float(time[-1] - time[0])
    return span > _RING_S and float(power[0]) < 10.0 ** (0.1 * _RING_DB_PER_S * span) * float(power[1])


def looks_plucked(note: Sounding) -> bool:
    """Loudest at once, and settling."""
    assert note.tracks is not None
    assert note.settled is not None
    if not note.plucked or note.settled.wander > _STRAYS:
        return False
    if note.turned is not None and abs(float(note.turned.x[1])) > _FASTEST:
        return False
    power = np.abs(note.tracks.phasor) ** 2
    total = power.sum(axis=0)
    last = power[:, -1]
    grown = float(last[last > _GROWN * power[:, 0]].sum())
    return float(total.max()) < _GROWS * float(total[0]) and grown < _SOME_GROW * float(total[-1])


def _holds(note: Sounding) -> bool:
    assert note.tracks is not None
    time = note.tracks.time_s
    if time[-1] - time[0] < _HOLD_S or note.turned is None:
        return False
    if note.coarse is None or note.coarse.strength < _HOLD_PITCH:
        return False
    return abs(float(note.turned.x[1])) < _HOLD_SLOPE
