"""Pitches against published standards and tables, each named beside its figure."""

import math

import music21
import pytest

from device.config.settings import Settings
from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    OpenString,
    Temperament,
    cents,
    shifted,
    string_frequencies,
)
from tests.each import each

A4 = Hz(440.0)


def open_strings(instrument: Instrument, temperament: Temperament) -> dict[str, Hz]:
    strings = OPEN_STRINGS[instrument]
    frequencies = string_frequencies(strings, A4, temperament)
    return dict(zip([s.name for s in strings], frequencies, strict=True))


@pytest.mark.parametrize("instrument", [Instrument.VIOLIN, Instrument.VIOLA])
@pytest.mark.parametrize("temperament", list(Temperament))
def test_the_a_string_sounds_440_hz(instrument, temperament):
    # a check against ourselves: the reference that is handed in comes out unchanged
    assert open_strings(instrument, temperament)["A4"] == 440.0


def test_half_a_hertz_is_1_97_cents():
    # ISO 16:1975 asks for an accuracy of 0.5 Hz
    assert cents(Hz(440.5), A4) == pytest.approx(1.97, abs=0.005)


@pytest.mark.parametrize("instrument", list(Instrument))
def test_open_strings_sound_as_a_library_of_musicology_has_them(instrument):
    # music21 (M. S. Cuthbert and others, MIT): equal temperament on A4 = 440 Hz
    for name, frequency in each(open_strings(instrument, Temperament.EQUAL).items()):
        assert frequency == pytest.approx(music21.pitch.Pitch(name).frequency, rel=1e-9), name


def test_every_note_the_box_can_name_has_the_library_s_number():
    # MIDI's note numbers, as music21 counts them
    names = [f"{letter}{octave}" for octave in range(9) for letter in "CDEFGAB"]
    assert len(names) == 63
    for name in names:
        assert OpenString.named(name).note_number == music21.pitch.Pitch(name).midi, name


def test_the_usual_violin_tuning_is_the_library_s():
    strings = [p.nameWithOctave for p in music21.instrument.Violin().stringPitches]
    assert strings == [string.name for string in OPEN_STRINGS[Instrument.VIOLIN]]
    strings = [p.nameWithOctave for p in music21.instrument.Viola().stringPitches]
    assert strings == [string.name for string in OPEN_STRINGS[Instrument.VIOLA]]
    strings = [p.nameWithOctave for p in music21.instrument.Violoncello().stringPitches]
    assert strings == [string.name for string in OPEN_STRINGS[Instrument.CELLO]]


def test_the_usual_reference_pitch_is_the_standard_s():
    # ISO 16:1975: the A above middle C is 440 Hz
    assert Settings().reference_hz == 440.0


def test_the_published_recordings_name_the_same_fundamentals():
    # SHARC Timbre Dataset (Sandell 1994): nominal fundamentals of its notes
    sharc = {"G3": 195.998, "D4": 293.665, "A4": 440.0, "E5": 659.255, "E1": 41.203, "C2": 65.406}
    for name, frequency in each(sharc.items()):
        semitones = OpenString.named(name).note_number - 69
        assert shifted(A4, Cents(100.0 * semitones)) == pytest.approx(frequency, abs=0.001), name


def test_a_fifth_of_3_to_2_is_701_955_cents_and_a_fourth_of_4_to_3_the_rest_of_the_octave():
    # Ellis, appendix to Helmholtz, On the Sensations of Tone, 1885
    assert cents(Hz(3.0), Hz(2.0)) == pytest.approx(701.955, abs=0.0005)
    assert cents(Hz(4.0), Hz(3.0)) == pytest.approx(498.045, abs=0.0005)


# Pure intervals against the keyboard's: n fifths of 701.955 cents against n of 700 from the A, by hand:
# a fifth is 1.955 wide, so D -2.0, G -3.9, C -5.9, E +2.0; a fourth is as much narrow.
PURE_AGAINST_EQUAL = {
    Instrument.VIOLIN: {"G3": -3.9, "D4": -2.0, "A4": 0.0, "E5": 2.0},
    Instrument.VIOLA: {"C3": -5.9, "G3": -3.9, "D4": -2.0, "A4": 0.0},
    Instrument.CELLO: {"C2": -5.9, "G2": -3.9, "D3": -2.0, "A3": 0.0},
    Instrument.DOUBLE_BASS: {"E1": 2.0, "A1": 0.0, "D2": -2.0, "G2": -3.9},
}


@pytest.mark.parametrize("instrument", list(Instrument))
def test_pure_strings_stand_where_a_chain_of_fifths_or_fourths_puts_them(instrument):
    equal, pure = (open_strings(instrument, t) for t in (Temperament.EQUAL, Temperament.PURE))
    off = {name: cents(pure[name], equal[name]) for name in equal}
    assert off == pytest.approx(PURE_AGAINST_EQUAL[instrument], abs=0.05)


def test_pure_strings_stand_in_small_whole_ratios():
    """A check against ourselves: the chain above, said as ratios."""
    violin = open_strings(Instrument.VIOLIN, Temperament.PURE)
    bass = open_strings(Instrument.DOUBLE_BASS, Temperament.PURE)
    assert violin["D4"] / violin["G3"] == pytest.approx(3 / 2, rel=1e-12)
    assert violin["E5"] / violin["A4"] == pytest.approx(3 / 2, rel=1e-12)
    assert bass["A1"] / bass["E1"] == pytest.approx(4 / 3, rel=1e-12)
    assert bass["G2"] / bass["D2"] == pytest.approx(4 / 3, rel=1e-12)


def test_viola_and_cello_are_an_octave_apart():
    for temperament in each(Temperament):
        viola, cello = (open_strings(i, temperament) for i in (Instrument.VIOLA, Instrument.CELLO))
        assert list(viola.values()) == pytest.approx([2.0 * f for f in cello.values()], rel=1e-12)


def test_a_sample_clock_100_parts_in_a_million_off_is_0_17_cents():
    # by hand: 1200 log2(1.0001) = 1200 * 1e-4 / ln 2 = 0.173
    assert cents(Hz(440.044), A4) == pytest.approx(1200.0 * 1e-4 / math.log(2.0), abs=1e-4)
