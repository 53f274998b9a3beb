"""A written note: letter, alteration, octave; how high it sounds and what it is called.

Octaves are those of scientific pitch notation, as in `dsp.strings`: C4 begins the octave that holds A4,
which ISO 16:1975 puts at 440 Hz. A letter alone is a natural; a double bass sounds an octave below what
is written for it, so written and sounding notes are kept apart by whoever has to do with both.
"""

from dataclasses import dataclass, replace
from enum import Enum

from device.config.practice_settings import Naming
from dsp import Cents, Hz, OpenString, cents, shifted

LETTERS = "CDEFGAB"  # in the order of an octave
_SEMITONES = (0, 2, 4, 5, 7, 9, 11)  # of the letters above C
_A4 = 69  # the note number of A4 in the MIDI 1.0 specification
SEMITONE = Cents(100.0)


class Alteration(Enum):
    """What a sign before a note, or a signature, does to a letter, in semitones."""

    FLAT = -1
    NATURAL = 0
    SHARP = 1


@dataclass(frozen=True, slots=True)
class WrittenPitch:
    """A note as it is written."""

    letter: str  # one of LETTERS
    octave: int
    alteration: Alteration = Alteration.NATURAL

    @property
    def step(self) -> int:
        """Letters above C0: one more for each line or space up the staff."""
        return 7 * self.octave + LETTERS.index(self.letter)

    @property
    def note_number(self) -> int:
        """Semitones, A4 = 69."""
        return 12 * (self.octave + 1) + _SEMITONES[LETTERS.index(self.letter)] + self.alteration.value

    @property
    def name(self) -> str:
        """As `dsp.OpenString` writes it: "A4", "F#4", "Bb3"."""
        return f"{self.letter}{_SIGNS[self.alteration]}{self.octave}"

    def octaves_up(self, octaves: int) -> "WrittenPitch":
        """The same letter so many octaves higher."""
        return replace(self, octave=self.octave + octaves)


_SIGNS = {Alteration.FLAT: "b", Alteration.NATURAL: "", Alteration.SHARP: "#"}


def pitch_named(name: str) -> WrittenPitch:
    """Read a note name as `dsp.OpenString` does; ValueError, in one sentence, for anything else.

    >>> pitch_named("Bb3").note_number
    58
    """
    letter = OpenString.named(name).letter
    alteration = {"": Alteration.NATURAL, "#": Alteration.SHARP, "b": Alteration.FLAT}[letter[1:]]
    return WrittenPitch(letter[0], int(name[len(letter) :]), alteration)


def at_step(step: int, alteration: Alteration = Alteration.NATURAL) -> WrittenPitch:
    """The note so many letters above C0; the inverse of `WrittenPitch.step`."""
    return WrittenPitch(LETTERS[step % 7], step // 7, alteration)


def sounding_hz(note_number: float, reference_hz: Hz) -> Hz:
    """Where a note number sounds in equal temperament, A4 being `reference_hz`."""
    return shifted(reference_hz, Cents(SEMITONE * (note_number - _A4)))


def semitones_of(frequency_hz: Hz, reference_hz: Hz) -> float:
    """The note number of a frequency, with its fraction; the inverse of `sounding_hz`."""
    from_a = cents(frequency_hz, reference_hz)
    return _A4 + from_a / SEMITONE


def called(pitch: WrittenPitch, naming: Naming) -> str:
    """What the note is called, without its octave, in as few letters as can be: "F#", "B", "sol".

    With H, the letter B alone is B flat (common practice in German-speaking and Nordic countries); sung
    names are those of the fixed do, its seventh being si (common practice in Romance languages).
    """
    if naming is Naming.LETTERS:
        return pitch.letter + _SIGNS[pitch.alteration]
    if naming is Naming.DO_RE_MI:
        return _SUNG[pitch.letter] + _SIGNS[pitch.alteration]
    if pitch.letter == "B":
        return {Alteration.FLAT: "B", Alteration.NATURAL: "H", Alteration.SHARP: "H#"}[pitch.alteration]
    return pitch.letter + _SIGNS[pitch.alteration]


_SUNG = dict(zip(LETTERS, ("do", "re", "mi", "fa", "sol", "la", "si"), strict=True))
