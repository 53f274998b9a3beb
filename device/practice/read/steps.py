"""What is asked for at each step of Read, easiest first.

| step | notes |
|---|---|
| open strings | the strings themselves |
| lines, spaces | the naturals that stand there, as far as the hand reaches |
| first finger | the note above each string; from here on the signature of the first key stands |
| one, two, three, all strings | the first position, string by string |
| signs | sharps, flats and naturals right before the note |
| keys | up to three sharps and two flats, on the letters they alter |

The first key is the one that beginners of the violin meet first, D major; where an open string is not in
it, G, then C. So the same fingers fall alike on the viola, a fifth lower. A fourth finger and the next
open string are one note, and it is asked for once.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from device.config.practice_settings import ReadStep
from device.notation.pitches import Alteration, WrittenPitch, at_step, pitch_named
from device.notation.staff import CLEFS, LINES, SPACES, Signature, written_up
from dsp import Instrument, OpenString


@dataclass(frozen=True, slots=True)
class Asked:
    """A note to be played, as it is written."""

    pitch: WrittenPitch
    signature: Signature
    also: WrittenPitch  # before sharps are met the letter alone counts: the same letter in the first key


_FIRST_KEYS = (Signature(2), Signature(1), Signature(0))  # D, G, C major
_PLAIN = Signature(0)
_KEYS = tuple(Signature(fifths) for fifths in (2, 3, 1, -1, -2))  # D, A, G, F and B flat major
_ALTERED = "FCGBE"  # the letters these keys alter
_SIGNED = ("F#", "C#", "G#", "Bb", "Eb")  # the first three sharps and the first two flats
_BY_STRING = (ReadStep.ONE_STRING, ReadStep.TWO_STRINGS, ReadStep.THREE_STRINGS, ReadStep.ALL_STRINGS)

_REACH = {
    Instrument.VIOLIN: 7,
    Instrument.VIOLA: 7,
    Instrument.CELLO: 5,
    Instrument.DOUBLE_BASS: 4,
}
"""Semitones from an open string to the fourth finger in first position: a fifth on violin and viola, a fourth
on the cello, a major third on the double bass (common practice, as every method prints it)."""


@dataclass(frozen=True, slots=True)
class Played:
    """The instrument as Read needs it; strings low to high, as they sound."""

    instrument: Instrument
    strings: tuple[OpenString, ...]

    @property
    def first_key(self) -> Signature:
        """The signature that stands from the first finger on."""
        opens = self.opens()
        return next((key for key in _FIRST_KEYS if all(key.before(o) is None for o in opens)), _PLAIN)

    def opens(self) -> tuple[WrittenPitch, ...]:
        """The open strings as they are written, low to high."""
        up = written_up(self.instrument)
        return tuple(pitch_named(string.name).octaves_up(up) for string in self.strings)

    def on_string(self, opened: WrittenPitch, signature: Signature) -> tuple[WrittenPitch, ...]:
        """The notes of a key in first position on one string, the open one first if it is in the key."""
        steps = range(opened.step, opened.step + 6)
        found = (signature.applied(at_step(step)) for step in steps)
        return tuple(note for note in found if self._on(opened, note))

    def reaches(self, note: WrittenPitch) -> bool:
        """Whether it lies in first position on any string."""
        return any(self._on(opened, note) for opened in self.opens())

    def _on(self, opened: WrittenPitch, note: WrittenPitch) -> bool:
        return 0 <= note.note_number - opened.note_number <= _REACH[self.instrument]


def asked_at(step: ReadStep, played: Played) -> tuple[Asked, ...]:
    """Everything that may be asked for at a step, each once, low to high; at least one note."""
    if step is ReadStep.SIGNS:
        return _signs(played)
    if step is ReadStep.KEYS:
        return _keys(played)
    letter_alone = step in {ReadStep.OPEN_STRINGS, ReadStep.LINES, ReadStep.SPACES}
    signature = _PLAIN if letter_alone else played.first_key
    notes = _sorted(_notes(step, played))
    return tuple(
        Asked(note, signature, played.first_key.applied(note) if letter_alone else note) for note in notes
    )


def _notes(step: ReadStep, played: Played) -> Iterable[WrittenPitch]:
    opens, key = played.opens(), played.first_key
    if step is ReadStep.OPEN_STRINGS:
        return opens
    if step in {ReadStep.LINES, ReadStep.SPACES}:
        clef = CLEFS[played.instrument]
        places = (clef.at(place) for place in (LINES if step is ReadStep.LINES else SPACES))
        return tuple(note for note in places if played.reaches(note)) or opens
    if step is ReadStep.FIRST_FINGER:
        return tuple(key.applied(at_step(opened.step + 1)) for opened in opens)
    count = len(opens) if step is ReadStep.ALL_STRINGS else 1 + _BY_STRING.index(step)
    return (note for opened in _met_first(opens)[:count] for note in played.on_string(opened, key))


def _met_first(opens: Sequence[WrittenPitch]) -> tuple[WrittenPitch, ...]:
    """The strings in the order they are met: the second from the top, the one below, the top, the rest."""
    ranked = list(opens[::-1])
    if len(ranked) > 2:
        ranked = [ranked[1], ranked[2], ranked[0], *ranked[3:]]
    return tuple(ranked)


def _signs(played: Played) -> tuple[Asked, ...]:
    """Sharps and flats where no signature stands, and naturals against the first key."""
    key = played.first_key
    steps = range(played.opens()[0].step, played.opens()[-1].step + 6)
    plain = [at_step(step, alteration) for step in steps for alteration in Alteration]
    signed = [note for note in plain if note.name.rstrip("0123456789") in _SIGNED and played.reaches(note)]
    natural = [at_step(step) for step in steps if at_step(step).letter in key.letters]
    asked = [Asked(note, _PLAIN, note) for note in _sorted(signed)]
    return (*asked, *(Asked(note, key, note) for note in natural if played.reaches(note)))


def _keys(played: Played) -> tuple[Asked, ...]:
    return tuple(
        Asked(note, key, note)
        for key in _KEYS
        for note in _sorted(note for opened in played.opens() for note in played.on_string(opened, key))
        if note.letter in _ALTERED
    )


def _sorted(notes: Iterable[WrittenPitch]) -> list[WrittenPitch]:
    """Each once, low to high."""
    return sorted(set(notes), key=lambda note: note.note_number)
