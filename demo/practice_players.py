"""Pupils at Read and Count: they see the note or the bar, and play it well or with one kind of mistake."""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from device.notation.pitches import sounding_hz
from device.notation.staff import written_up
from device.practice.count.session import CountState
from device.practice.read.session import ReadState
from dsp import Hz, Seconds


class Plays(Enum):
    """Which note is played where one is asked for."""

    ASKED = "asked"
    NEIGHBOUR = "neighbour"  # a letter off: a step up the staff
    OCTAVE = "octave"  # the right letter, an octave too high


@dataclass(frozen=True, slots=True)
class PracticePlayer:
    """How somebody plays; invented."""

    name: str
    jitter_s: float = 0.0  # one standard deviation of each stroke
    late_s: float = 0.0  # every stroke
    plays: Plays = Plays.ASKED
    errs: float = 1.0  # how often they play what `plays` says, else what is asked for
    stops_after: int | None = None  # notes, or bars


PRACTICE_PLAYERS: Mapping[str, PracticePlayer] = {
    player.name: player
    for player in (
        PracticePlayer("perfect"),
        PracticePlayer("jitter-20", jitter_s=0.02),
        PracticePlayer("jitter-50", jitter_s=0.05),
        PracticePlayer("jitter-100", jitter_s=0.1),
        PracticePlayer("late-80", late_s=0.08),
        PracticePlayer("neighbour", plays=Plays.NEIGHBOUR),
        PracticePlayer("octave", plays=Plays.OCTAVE),
        PracticePlayer("stops", stops_after=4),
    )
}
MAKES_MISTAKES = PracticePlayer("mistakes", jitter_s=0.04, plays=Plays.NEIGHBOUR, errs=0.25)
"""Whom the demo shows when nobody else is asked for."""
_NEIGHBOUR_SEMITONES = 2


def note_played(player: PracticePlayer, state: ReadState, reference_hz: Hz, rng: random.Random) -> Hz:
    """The pitch that sounds when the player reads the note that is asked for."""
    number = state.asked.pitch.note_number - 12 * written_up(state.played.instrument)
    if player.plays is not Plays.ASKED and rng.random() < player.errs:
        number += 12 if player.plays is Plays.OCTAVE else _NEIGHBOUR_SEMITONES
    return sounding_hz(number, reference_hz)


def strokes_played(player: PracticePlayer, state: CountState, rng: random.Random) -> tuple[Seconds, ...]:
    """When the player plucks, from the first beat of the bar."""
    moments = (wanted + player.late_s + rng.gauss(0.0, player.jitter_s) for wanted in state.wanted_s)
    return tuple(sorted(Seconds(moment) for moment in moments))
