"""The violin family as tables: which open strings, and how high each should sound.

A string is named by its letter and its octave in scientific pitch notation
(A4 is the A the orchestra tunes to; ISO 16:1975 puts it at 440 Hz, and the
octave number grows at each C). Strings are always listed from low to high.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from dsp.units import CENTS_PER_OCTAVE, Cents, Hz, shifted

_SEMITONES_ABOVE_C = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
_A4_NOTE_NUMBER = 69  # the note number of A4 in the MIDI 1.0 specification
_PURE_RATIO = {7: 3 / 2, 5: 4 / 3, 12: 2.0}  # fifth, fourth, octave; semitones -> frequency ratio

RANGE_BELOW = Cents(-1500.0)  # an octave and a minor third: a slack string is still heard
RANGE_ABOVE = Cents(1200.0)


class Instrument(Enum):
    """The four instruments of the family, by their English names."""

    VIOLIN = "violin"
    VIOLA = "viola"
    CELLO = "cello"
    DOUBLE_BASS = "double-bass"


class Temperament(Enum):
    """How the other strings follow from the A: by the keyboard, or by pure intervals."""

    EQUAL = "equal"
    PURE = "pure"


@dataclass(frozen=True, slots=True, order=True)
class OpenString:
    """An open string by its note; compares by pitch.

    >>> OpenString.named("G3").letter, OpenString.named("Bb3").note_number
    ('G', 58)
    """

    note_number: int  # semitones, A4 = 69
    name: str  # "A4", "F#4", "Bb3"

    @property
    def letter(self) -> str:
        """The name without its octave: "A", "F#", "Bb"."""
        return self.name.rstrip("0123456789")

    @classmethod
    def named(cls, name: str) -> "OpenString":
        """Read a note name.

        Raises ValueError, in one sentence, for anything but a letter A to G, an optional
        # or b, and an octave 0 to 8.
        """
        found = re.fullmatch(r"([A-G])([#b]?)([0-8])", name)
        if found is None:
            raise ValueError(
                f"{name!r} is not a note: write a letter A to G, # or b and an octave 0 to 8, like A4"
            )
        letter, accidental, octave = found.groups()
        alteration = {"": 0, "#": 1, "b": -1}[accidental]
        return cls(12 * (int(octave) + 1) + _SEMITONES_ABOVE_C[letter] + alteration, name)


def _named(*names: str) -> tuple[OpenString, ...]:
    return tuple(OpenString.named(name) for name in names)


OPEN_STRINGS: dict[Instrument, tuple[OpenString, ...]] = {
    Instrument.VIOLIN: _named("G3", "D4", "A4", "E5"),
    Instrument.VIOLA: _named("C3", "G3", "D4", "A4"),
    Instrument.CELLO: _named("C2", "G2", "D3", "A3"),
    Instrument.DOUBLE_BASS: _named("E1", "A1", "D2", "G2"),
}


def string_frequencies(
    strings: Sequence[OpenString], reference_hz: Hz, temperament: Temperament = Temperament.EQUAL
) -> tuple[Hz, ...]:
    """Where each open string should sound.

    Parameters
    ----------
    strings : open strings, low to high
    reference_hz : the player's A4, in Hz
    temperament : `EQUAL` places every string on the keyboard's grid; `PURE` starts at the A
        string (the A nearest A4; where there is none, the string nearest A4 on the grid) and
        steps outwards by 3:2 fifths, 4:3 fourths and 2:1 octaves; any other interval of a
        retuned instrument keeps its tempered size.

    Returns
    -------
    frequencies in Hz, one a string, in the order given

    >>> violin = OPEN_STRINGS[Instrument.VIOLIN]
    >>> [round(f, 2) for f in string_frequencies(violin, Hz(440.0))]
    [196.0, 293.66, 440.0, 659.26]
    >>> [round(f, 2) for f in string_frequencies(violin, Hz(440.0), Temperament.PURE)]
    [195.56, 293.33, 440.0, 660.0]
    """
    tempered = [_tempered(string, reference_hz) for string in strings]
    if temperament is Temperament.EQUAL:
        return tuple(tempered)
    start = _anchor(strings)
    placed = {start: tempered[start]}
    for i in range(start + 1, len(strings)):
        placed[i] = Hz(placed[i - 1] * _ratio(strings[i - 1], strings[i]))
    for i in range(start - 1, -1, -1):
        placed[i] = Hz(placed[i + 1] / _ratio(strings[i], strings[i + 1]))
    return tuple(placed[i] for i in range(len(strings)))


def tracking_range(frequencies: Sequence[Hz]) -> tuple[Hz, Hz]:
    """The pitch range the wall listens to: lowest and highest, in Hz.

    It reaches from 1500 cents under the lowest open string to an octave over the highest, whatever
    the answer is expected to be.
    """
    return shifted(min(frequencies), RANGE_BELOW), shifted(max(frequencies), RANGE_ABOVE)


def _tempered(string: OpenString, reference_hz: Hz) -> Hz:
    semitone = CENTS_PER_OCTAVE / 12.0
    return shifted(reference_hz, Cents(semitone * (string.note_number - _A4_NOTE_NUMBER)))


def _anchor(strings: Sequence[OpenString]) -> int:
    """Index of the string the pure intervals start from."""
    a_strings = [i for i, string in enumerate(strings) if (string.note_number - _A4_NOTE_NUMBER) % 12 == 0]
    candidates = a_strings or range(len(strings))
    return min(candidates, key=lambda i: abs(strings[i].note_number - _A4_NOTE_NUMBER))


def _ratio(lower: OpenString, upper: OpenString) -> float:
    semitones = upper.note_number - lower.note_number
    return _PURE_RATIO.get(semitones, math.exp2(semitones / 12.0))
