"""The staff: where a clef puts each note, and what stands at its beginning.

A position counts half spaces from the lowest of the five lines, upwards: 0 is that line, 1 the space
above it, 8 the highest line. What lies outside 0..8 has ledger lines. Treble clef for the violin, alto
for the viola, bass for cello and double bass, whose music is written an octave above its sound (common
practice; every instrumentation handbook).
"""

from dataclasses import dataclass
from enum import Enum

from device.notation.pitches import Alteration, WrittenPitch, at_step, pitch_named
from dsp import Instrument

LINES = (0, 2, 4, 6, 8)  # positions
SPACES = (1, 3, 5, 7)


class Clef(Enum):
    """The sign that names a line, by the note on the lowest one."""

    TREBLE = "E4"  # its curl lies on the second line: G4
    ALTO = "F3"  # its middle lies on the third line: C4
    BASS = "G2"  # its dots lie about the fourth line: F3

    @property
    def _lowest(self) -> int:
        return pitch_named(self.value).step

    def position(self, pitch: WrittenPitch) -> int:
        """Where the note stands."""
        return pitch.step - self._lowest

    def at(self, position: int, alteration: Alteration = Alteration.NATURAL) -> WrittenPitch:
        """The note that stands there."""
        return at_step(self._lowest + position, alteration)


CLEFS: dict[Instrument, Clef] = {
    Instrument.VIOLIN: Clef.TREBLE,
    Instrument.VIOLA: Clef.ALTO,
    Instrument.CELLO: Clef.BASS,
    Instrument.DOUBLE_BASS: Clef.BASS,
}
_WRITTEN_UP = {Instrument.DOUBLE_BASS: 1}  # octaves


def written_up(instrument: Instrument) -> int:
    """How many octaves above its sound the instrument's music is written."""
    return _WRITTEN_UP.get(instrument, 0)


def ledger_lines(position: int) -> tuple[int, ...]:
    """The positions of the short lines that a note outside the staff needs, nearest the staff first."""
    if position < 0:
        return tuple(range(-2, position - 1, -2))
    return tuple(range(10, position + 1, 2))


_SHARPS, _FLATS = "FCGDAEB", "BEADGCF"  # in the order they come in a signature
_SHARP_AT, _FLAT_AT = (8, 5, 9, 6, 3, 7, 4), (4, 7, 3, 6, 2, 5, 1)  # in the treble clef, as engraved
_LOWER = {Clef.TREBLE: 0, Clef.ALTO: 1, Clef.BASS: 2}  # half spaces


@dataclass(frozen=True, slots=True)
class Signature:
    """Which letters are altered throughout: so many sharps, or with a minus so many flats."""

    fifths: int = 0  # -7..7

    def __post_init__(self) -> None:
        if not -7 <= self.fifths <= 7:
            raise ValueError(f"a signature of {self.fifths} is outside -7 to 7 sharps; 2 is D major")

    @property
    def letters(self) -> str:
        """The altered letters, in their order."""
        return _SHARPS[: self.fifths] if self.fifths > 0 else _FLATS[: -self.fifths]

    @property
    def sign(self) -> Alteration:
        """What it does to them."""
        if self.fifths == 0:
            return Alteration.NATURAL
        return Alteration.SHARP if self.fifths > 0 else Alteration.FLAT

    def of(self, letter: str) -> Alteration:
        """How a letter is altered where no sign stands before the note."""
        return self.sign if letter in self.letters else Alteration.NATURAL

    def applied(self, pitch: WrittenPitch) -> WrittenPitch:
        """The note of that letter and octave in this key."""
        return WrittenPitch(pitch.letter, pitch.octave, self.of(pitch.letter))

    def before(self, pitch: WrittenPitch) -> Alteration | None:
        """The sign that must stand right before the note; None where the signature says it all."""
        return None if pitch.alteration is self.of(pitch.letter) else pitch.alteration

    def positions(self, clef: Clef) -> tuple[int, ...]:
        """Where its signs stand, from left to right."""
        places = _SHARP_AT if self.fifths > 0 else _FLAT_AT
        return tuple(place - _LOWER[clef] for place in places[: abs(self.fifths)])


def spelled_note(note_number: int, signature: Signature) -> WrittenPitch:
    """A note that was heard, as one would write it in this key.

    A note of the key is written as such, or else a natural; or else with the kind of sign that the
    signature has, a sharp where it has none.
    """
    octave, signs = note_number // 12 - 1, _in_order(signature)
    for alteration in signs:
        for step in range(7 * octave - 1, 7 * octave + 8):
            pitch = at_step(step, signature.of(at_step(step).letter) if alteration is None else alteration)
            if pitch.note_number == note_number:
                return pitch
    raise ValueError(f"note {note_number} cannot be written with one sign; every note can")


def _in_order(signature: Signature) -> tuple[Alteration | None, ...]:
    usual = Alteration.FLAT if signature.fifths < 0 else Alteration.SHARP
    other = Alteration.SHARP if usual is Alteration.FLAT else Alteration.FLAT
    return (None, Alteration.NATURAL, usual, other)
