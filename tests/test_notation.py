"""Written music agrees with music21, an open-source library of musicology, and with what handbooks print."""

import itertools

import pytest

from device.config.practice_settings import Naming
from device.notation.chance import Chance, seeded
from device.notation.lengths import Bar, Length, Metre, NoteValue, beams, beats, syllables
from device.notation.pitches import (
    LETTERS,
    Alteration,
    WrittenPitch,
    called,
    pitch_named,
    semitones_of,
    sounding_hz,
)
from device.notation.staff import CLEFS, Clef, Signature, ledger_lines, spelled_note, written_up
from dsp import OPEN_STRINGS, Hz, Instrument, OpenString
from tests.each import each

music21 = pytest.importorskip("music21", reason="music21 is in the extra [test]: pip install wallpeg[test]")

EVERY = [
    WrittenPitch(letter, octave, alteration)
    for letter, octave, alteration in itertools.product(LETTERS, range(1, 7), Alteration)
]
assert len(EVERY) == 126
CLEF_OF = {Clef.TREBLE: "TrebleClef", Clef.ALTO: "AltoClef", Clef.BASS: "BassClef"}
LENGTHS = [Length(value, dotted) for value in NoteValue for dotted in (False, True)]


def theirs(pitch):
    return music21.pitch.Pitch(pitch.name.replace("b", "-"))


@pytest.mark.parametrize("clef", Clef)
def test_every_note_stands_where_music21_puts_it(clef):
    lowest = getattr(music21.clef, CLEF_OF[clef])().lowestLine
    for pitch in each(EVERY):
        assert clef.position(pitch) == theirs(pitch).diatonicNoteNum - lowest
        assert clef.at(clef.position(pitch), pitch.alteration) == pitch


def test_every_note_has_music21s_number_and_octave():
    for pitch in each(EVERY):
        assert pitch.note_number == theirs(pitch).midi
        assert pitch_named(pitch.name) == pitch
        assert OpenString.named(pitch.name).note_number == pitch.note_number


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_every_signature_alters_what_music21_says(fifths):
    signature, other = Signature(fifths), music21.key.KeySignature(fifths)
    altered = {p.step: int(p.alter) for p in other.alteredPitches}
    assert [p.step for p in other.alteredPitches] == list(signature.letters)
    assert {letter: signature.of(letter).value for letter in LETTERS} == {
        letter: altered.get(letter, 0) for letter in LETTERS
    }


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("clef", Clef)
def test_the_signs_of_a_signature_stand_on_the_letters_they_alter(clef, fifths):
    signature = Signature(fifths)
    places = signature.positions(clef)
    assert "".join(clef.at(place).letter for place in places) == signature.letters
    assert all(-1 <= place <= 9 for place in places)


def test_a_sign_stands_before_a_note_exactly_where_music21_shows_one():
    shown = 0
    for fifths, pitch in each(itertools.product(range(-3, 4), EVERY)):
        measure = music21.stream.Measure([music21.key.KeySignature(fifths), music21.note.Note(theirs(pitch))])
        measure.makeAccidentals(inPlace=True, useKeySignature=True)
        accidental = measure.notes[0].pitch.accidental
        theirs_shown = accidental is not None and bool(accidental.displayStatus)
        ours = Signature(fifths).before(pitch)
        assert (ours is not None) is theirs_shown, (fifths, pitch)
        if ours is not None:
            assert ours.value == accidental.alter
        shown += theirs_shown
    assert shown > 500


def test_what_is_heard_is_spelled_within_the_key_and_back_again():
    for fifths, number in each(itertools.product(range(-3, 4), range(28, 100))):
        signature = Signature(fifths)
        pitch = spelled_note(number, signature)
        assert pitch.note_number == number
        scale = {p.pitchClass for p in music21.key.KeySignature(fifths).getScale("major").pitches}
        assert (signature.before(pitch) is None) is (number % 12 in scale)


@pytest.mark.parametrize("length", LENGTHS, ids=str)
def test_every_length_is_as_long_as_music21_says(length):
    other = music21.duration.Duration(type=length.value.name.lower(), dots=int(length.dotted))
    assert length.sixteenths / 4 == other.quarterLength


@pytest.mark.parametrize("metre", Metre)
def test_every_bar_is_as_long_as_music21_says_and_has_its_beats(metre):
    other = music21.meter.TimeSignature(f"{metre.upper}/{metre.lower}")
    assert metre.sixteenths / 4 == other.barDuration.quarterLength
    ours = [moment / 4 for moment in beats(metre, by_eighths=False)]
    assert ours == [other.getOffsetFromBeat(1 + i) for i in range(other.beatCount)]
    assert len(beats(metre, by_eighths=True)) == metre.upper


def test_a_bar_that_does_not_add_up_is_refused_in_a_sentence():
    with pytest.raises(ValueError, match="holds 16 sixteenths, not 12"):
        Bar(Metre.FOUR_FOUR, (Length(NoteValue.HALF, dotted=True),))
    with pytest.raises(ValueError, match="a tie leads to a note"):
        Bar(Metre.TWO_FOUR, (Length(NoteValue.QUARTER), Length(NoteValue.QUARTER, tied=True)))
    with pytest.raises(ValueError, match="a rest cannot be tied"):
        Length(NoteValue.HALF, rest=True, tied=True)


def test_only_what_begins_is_plucked():
    eighth, quarter = Length(NoteValue.EIGHTH), Length(NoteValue.QUARTER)
    tied = Length(NoteValue.EIGHTH, tied=True)
    bar = Bar(Metre.FOUR_FOUR, (eighth, tied, eighth, eighth, Length(NoteValue.QUARTER, rest=True), quarter))
    assert bar.plucked == (0, 1, 3, 5)
    assert [bar.starts[i] for i in bar.plucked] == [0, 2, 6, 12]
    assert beams(bar) == ((0, 1), (2, 3))
    assert bar.shortest == 2


def test_the_counting_under_a_bar_is_the_trades():
    """Common practice, without a source: numbers for beats, "and" for the eighth between two."""
    eighth, quarter = Length(NoteValue.EIGHTH), Length(NoteValue.QUARTER)
    bar = Bar(Metre.THREE_FOUR, (quarter, eighth, eighth, quarter))
    assert [word for _, word in syllables(bar)] == ["1", "2", "and", "3"]
    jig = Bar(Metre.SIX_EIGHT, (quarter, eighth, quarter, eighth))
    assert [word for _, word in syllables(jig)] == ["1", "2", "3", "4", "5", "6"]
    assert beams(Bar(Metre.SIX_EIGHT, (eighth,) * 6)) == ((0, 1, 2), (3, 4, 5))


def test_letters_and_octaves_sound_as_iso_16_and_the_handbooks_table_say():
    """ISO 16:1975: A4 is 440 Hz. Equal temperament to two decimals, as every handbook of acoustics prints
    it; the figures are from memory."""
    table = {"C2": 65.41, "G2": 98.00, "C3": 130.81, "G3": 196.00, "D4": 293.66, "F#4": 369.99}
    more = {"A4": 440.00, "C5": 523.25, "E5": 659.26, "B5": 987.77, "E1": 41.20, "Bb3": 233.08}
    for name, hz in each((table | more).items()):
        number = pitch_named(name).note_number
        assert sounding_hz(number, Hz(440.0)) == pytest.approx(hz, abs=0.006)
        assert semitones_of(sounding_hz(number, Hz(442.0)), Hz(442.0)) == pytest.approx(number)


def test_notes_are_called_as_is_chosen():
    """Common practice: H is B natural where B is B flat; the sung names are those of the fixed do."""
    names = ("C4", "D4", "E4", "F#4", "G4", "A4", "B4", "Bb4")
    calls = {naming: [called(pitch_named(name), naming) for name in names] for naming in Naming}
    assert calls[Naming.LETTERS] == ["C", "D", "E", "F#", "G", "A", "B", "Bb"]
    assert calls[Naming.LETTERS_WITH_H] == ["C", "D", "E", "F#", "G", "A", "H", "B"]
    assert calls[Naming.DO_RE_MI] == ["do", "re", "mi", "fa#", "sol", "la", "si", "sib"]


@pytest.mark.parametrize("instrument", Instrument)
def test_open_strings_stand_where_beginners_books_print_them(instrument):
    """Common practice: the violin's G lies under two ledger lines, its E in the highest space; the viola's C
    is the violin's G one string lower; the cello's C lies under two ledger lines in the bass clef; the double
    bass's E, written an octave up, on the first ledger line below."""
    places = {
        Instrument.VIOLIN: [-5, -1, 3, 7],
        Instrument.VIOLA: [-3, 1, 5, 9],
        Instrument.CELLO: [-4, 0, 4, 8],
        Instrument.DOUBLE_BASS: [-2, 1, 4, 7],
    }
    clef, up = CLEFS[instrument], written_up(instrument)
    strings = [pitch_named(string.name).octaves_up(up) for string in OPEN_STRINGS[instrument]]
    assert [clef.position(pitch) for pitch in strings] == places[instrument]
    bass = music21.instrument.Contrabass().transposition
    assert up == (-bass.semitones // 12 if instrument is Instrument.DOUBLE_BASS else 0)


def test_ledger_lines_lead_to_the_note():
    assert [ledger_lines(p) for p in (-5, -4, -2, -1, 0, 8, 9, 10, 11, 12)] == [
        *((-2, -4), (-2, -4), (-2,), (), (), (), (), (10,), (10,), (10, 12))
    ]


def test_chance_is_the_minimal_standard_generator():
    """Park and Miller print the 10 000th number from seed 1: 1043618065."""
    chance = Chance(1)
    for _ in range(10_000):
        _, chance = chance.pick("ab")
    assert chance.state == 1_043_618_065


def test_chance_follows_its_weights_and_its_seed():
    chance, seen = seeded(5), []
    for _ in range(4000):
        one, chance = chance.pick("xyz", (1, 0, 3))
        seen.append(one)
    assert 850 < seen.count("x") < 1150
    assert "y" not in seen
    assert seeded(5) == seeded(5) != seeded(6)
    with pytest.raises(ValueError, match="nothing to pick from"):
        chance.pick("ab", (0, 0))


@pytest.mark.parametrize("fifths", [-8, 8])
def test_more_than_seven_sharps_or_flats_are_no_signature(fifths):
    """There are seven letters to alter."""
    with pytest.raises(ValueError, match="is outside -7 to 7 sharps"):
        Signature(fifths)


@pytest.mark.parametrize(("fifths", "name"), [(-1, "Db4"), (-2, "Db4"), (1, "C#4"), (2, "C#4"), (0, "C#4")])
def test_a_note_that_is_not_of_the_key_is_spelled_with_the_kind_of_sign_that_the_signature_has(fifths, name):
    """C sharp and D flat are one key of a keyboard: flats in F major, sharps in G major (common practice)."""
    assert spelled_note(61, Signature(fifths)).name == name
