"""What is told of a sounding: a reading of a string, or of a section."""

import math

from dsp.interference import beyond_hands
from dsp.reading import Reading
from dsp.section_pitch import pitch
from dsp.sounding import Onset, Past
from dsp.stages import Crowd, SoundingNote
from dsp.units import Cents, Seconds, shifted

# A sounding's start is set a frame of 2.5 ms before the one that leapt, so that none of it is missed, and the
# pluck lies somewhere within that frame; of 144 plucks the start lay 0.4 to 5 ms before it, the median 3.
_STARTS_EARLY_S = 0.003


def note_reading(note: SoundingNote, past: Past, time_s: float) -> Reading | None:
    """A reading of a string at `time_s`, in seconds from the start of the stream; None where none is told of.

    While the string is being turned, the pitch is that of its last moments.
    """
    settled, moving = note.follow.settled, note.turn.moving
    if settled is None or not note.judgement.told or beyond_hands(note.turn):
        return None
    age_s = note.follow.onset.age_s(past)
    cents, error = settled.cents, settled.std_error
    error = math.hypot(error, note.turn.unsettled(age_s))
    if note.turn.turning and moving is not None:
        ahead_s = age_s - moving.age_s  # since the middle of the last block
        cents, error = moving.cents + moving.slope * ahead_s, math.hypot(moving.std_error, settled.std_error)
    return Reading(
        time_s=Seconds(time_s),
        frequency_hz=shifted(note.follow.base.frequency_hz, Cents(cents)),
        std_error_cents=Cents(max(error, note.judgement.least_error)),
        octave_doubt=note.known.octave_doubt,
        drift_cents_per_s=note.turn.drift,
        level_dbfs=note.loudest_dbfs,
        since_pluck_s=_since_pluck(note.follow.onset, past),
        pluck=note.number,
    )


def section_reading(crowd: Crowd, past: Past, time_s: float) -> Reading | None:
    """A reading of a section at `time_s`; None where its glimpses do not agree."""
    found = pitch(crowd.section)
    if found is None:
        return None
    return Reading(
        time_s=Seconds(time_s),
        frequency_hz=found[0],
        std_error_cents=found[1],
        octave_doubt=found[2],
        drift_cents_per_s=0.0,
        level_dbfs=crowd.loudest_dbfs,
        since_pluck_s=_since_pluck(crowd.section.onset, past),
        pluck=crowd.number,
    )


def _since_pluck(onset: Onset, past: Past) -> Seconds:
    """Seconds since the string was plucked; a bow has no such moment, and its start is taken as it is."""
    return Seconds(onset.age_s(past) - (_STARTS_EARLY_S if onset.plucked else 0.0))
