"""The strung instrument: physics, and figures from outside beside ours."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from device.config.settings import Cores, FineTuners, Pegs, Settings, Size, StringSet
from device.instrument.cores import CORES, STEEL_STRENGTH
from device.instrument.refusals import refusals
from device.instrument.strung import RELATIVE_LENGTH, strung
from device.instrument.tuning_parts import Amount, TuningPart
from dsp import Cents, Hz, Instrument, cents, shifted
from tests.coaching import SETTINGS
from tests.each import each
from tests.test_safety_monitor import NEAR_BREAKING

FULL = Settings(size=Size.FULL, cores=Cores.SYNTHETIC)


@given(SETTINGS)
def test_every_open_string_stands_where_it_belongs_and_its_figures_make_sense(chosen):
    instrument = strung(chosen)
    assert {s.name: s.target_hz for s in instrument.strings} == chosen.targets
    for string in instrument.strings:
        assert 0.0 < string.peg.least <= string.peg.usual <= string.peg.most
        assert string.limit_hz < string.highest_hz
        assert (string.screw is None) == (string.screw_load == 0.0)
        if string.screw is not None:
            assert string.screw_reach >= 50.0  # a fine tuner is for the last 50 cents (common practice)


@given(SETTINGS, st.floats(-1200.0, 200.0), st.floats(-40.0, 40.0))
def test_turning_there_and_back_ends_where_it_began(chosen, off, degrees):
    string = strung(chosen).strings[-1]
    hz = shifted(string.target_hz, Cents(off))
    there = string.turned(hz, degrees, string.peg.usual)
    assume(string.tension(hz) + degrees * string.peg.usual > 0.02)
    assert string.turned(there, -degrees, string.peg.usual) == pytest.approx(hz)
    assert string.degrees_between(hz, there, string.peg.usual) == pytest.approx(degrees, abs=1e-6)


@pytest.mark.parametrize(("above", "more_tension"), [(100.0, 0.12), (200.0, 0.26), (702.0, 1.25)])
def test_tension_goes_with_the_square_of_frequency(above, more_tension):
    """Facts of the trade: a semitone is 12 % more, a tone 26 %, a fifth 125 % (Mersenne's law)."""
    string = strung(FULL).of("A4")
    ratio = string.tension(shifted(string.target_hz, Cents(above))) / string.tension(string.target_hz)
    assert ratio == pytest.approx(1.0 + more_tension, abs=0.006)


def test_a_steel_e_is_some_five_times_as_touchy_as_a_synthetic_a():
    """A fact of the trade (common practice, no source)."""
    ratio = strung(FULL).of("E5").peg.usual / strung(FULL).of("A4").peg.usual
    assert 4.0 < ratio < 6.0


def test_steel_cores_are_four_to_six_times_as_steep_as_synthetic_ones():
    """A fact of the trade (common practice, no source)."""
    steel = strung(Settings(size=Size.FULL, cores=Cores.STEEL)).of("A4")
    assert 4.0 < steel.peg.usual / strung(FULL).of("A4").peg.usual < 6.0


def test_a_plain_steel_e_bears_what_music_wire_bears():
    """By hand: least strength of music wire 0.28 mm thick, 382 ksi (ASTM A228, table of tensile strengths).

    1 ksi is 6.895 MPa; stainless wire bears three per cent less (from memory). At 659.26 Hz on 328 mm the
    stress of steel of 7850 kg/m3 is 7850 x (2 x 0.328 x 659.26)^2 = 1468 MPa.
    """
    strength = 382 * 6.895e6 * 0.97
    assert pytest.approx(strength, rel=0.001) == STEEL_STRENGTH
    string = strung(FULL).of("E5")
    assert string.load_at(Hz(659.26)) == pytest.approx(1468e6 / strength, rel=0.002)
    assert string.limit_hz == pytest.approx(
        659.26 * math.sqrt(NEAR_BREAKING / (1468e6 / strength)), rel=0.002
    )


def room_in_degrees(below: float) -> float:
    """From so many cents under its pitch a plain steel E of full size has so far to the margin, by hand.

    Least strength of music wire 0.28 mm thick, 382 ksi (ASTM A228), stainless three per cent less, stiffness
    at the most 210 GPa (handbooks: 190 to 210), so it breaks when stretched by 1.2 %. From tailpiece to peg
    1.29 times 328 mm; a shaft of 6.8 mm, a sixth thicker at the most (from memory).
    """
    strength = 382 * 6.895e6 * 0.97
    load = 7850.0 * (2.0 * 0.328 * 659.26 * 2.0 ** (-below / 1200.0)) ** 2 / strength
    breaks_mm = strength / 210e9 * 1.29 * 328.0
    return (0.8 - load) * breaks_mm / (1.16 * math.pi * 6.8 / 360.0)


def test_the_marks_of_a_peg_are_half_of_what_a_plain_steel_e_bears_at_its_pitch_and_a_tone_under_it():
    degrees = strung(FULL).peg_degrees
    assert room_in_degrees(0.0) == pytest.approx(16.9, abs=0.1)
    assert room_in_degrees(200.0) == pytest.approx(25.7, abs=0.1)
    assert degrees[Amount.A_LITTLE] == math.floor(room_in_degrees(0.0) / 2.0)
    assert degrees[Amount.MORE] == math.floor(room_in_degrees(200.0) / 2.0)


def room_of_a_rope(below: float, length_mm: float, shaft_mm: float, thicker: float) -> float:
    """The same by hand for the highest string of the smallest instrument with a core of steel rope.

    A rope bears nine tenths of its wires, and its string 0.55 of that at its pitch; the smallest string has
    0.64 of the full length and its shaft 0.82 of the thickness (all from memory).
    """
    strength = 382 * 6.895e6 * 0.97
    load = 0.55 * 2.0 ** (-below / 600.0)
    breaks_mm = 0.9 * strength / 210e9 * 1.29 * 0.64 * length_mm
    return (0.8 - load) * breaks_mm / (thicker * math.pi * 0.82 * shaft_mm / 360.0)


@pytest.mark.parametrize("cores", [Cores.UNKNOWN, Cores.STEEL])
def test_where_cores_may_be_of_steel_the_marks_are_half_of_what_the_smallest_violins_a_bears(cores):
    degrees = strung(Settings(cores=cores)).peg_degrees
    assert degrees[Amount.A_LITTLE] == math.floor(room_of_a_rope(0.0, 328.0, 6.8, 1.16) / 2.0) == 6.0
    assert degrees[Amount.MORE] == math.floor(room_of_a_rope(200.0, 328.0, 6.8, 1.16) / 2.0) == 9.0
    assert room_of_a_rope(0.0, 375.0, 7.4, 1.16) < 16.0  # a viola's bears two marks of a plain E no better


def test_a_cellos_strings_bear_the_marks_of_a_plain_e_with_any_core():
    degrees = strung(Settings(instrument=Instrument.CELLO)).peg_degrees
    assert 2.0 * degrees[Amount.A_LITTLE] == 16.0 < room_of_a_rope(0.0, 695.0, 10.0, 1.25)
    assert 2.0 * degrees[Amount.MORE] == 24.0 < room_of_a_rope(200.0, 695.0, 10.0, 1.25)


def test_a_steel_rope_breaks_when_it_is_stretched_by_a_hundredth_and_a_tenth():
    """Wire as above, the rope a tenth weaker (from memory), at the stiffest 210 GPa."""
    assert pytest.approx(0.9 * 382 * 6.895e6 * 0.97 / 210e9, rel=0.001) == CORES[Cores.STEEL].breaks_at
    assert 0.0108 < CORES[Cores.STEEL].breaks_at < 0.0112


@pytest.mark.parametrize("size", [s for s in Size if s is not Size.UNKNOWN])
def test_a_peg_of_a_small_violin_adds_more_and_an_unknown_size_counts_as_the_worst(size):
    """A shaft shrinks half as much as its string (from memory): 0.64 of the length, 0.82 of the shaft."""
    known, unknown = strung(Settings(size=size)), strung(Settings())
    full = strung(Settings(size=Size.FULL)).of("A4")
    share = RELATIVE_LENGTH[size]
    assert known.of("A4").peg_load == pytest.approx(full.peg_load * (1.0 - 0.5 * (1.0 - share)) / share)
    for string in each(known.strings):
        for off, peg, screw in each([(-700.0, 30.0, 0.0), (-200.0, 10.0, 0.0), (0.0, 8.0, 300.0)]):
            hz = shifted(string.target_hz, Cents(off))
            least = string.carried(hz, peg, screw)
            assert unknown.of(string.name).carried(hz, peg, screw) >= least - 1e-12
            highest = string.highest_after(hz, peg, screw)
            assert unknown.of(string.name).highest_after(hz, peg, screw) >= highest - 1e-9
    assert known.of("E5").ends[0][0] == pytest.approx(strung(FULL).of("E5").load * share**2)


def test_small_violins_are_as_long_as_a_makers_table_says():
    """Bridge to the edge of the belly, three fifths of the string on every size: 159, 171, 183 and 195 mm
    on a quarter, a half, three quarters and a full size (makingtheviolin.com/Measurements: "Average
    Measurements of the Violin", and a full-size violin beside them).
    """
    stops_mm = {Size.QUARTER: 159.0, Size.HALF: 171.0, Size.THREE_QUARTER: 183.0}
    for size, mm in each(stops_mm.items()):
        assert pytest.approx(mm / 195.0, rel=0.035) == RELATIVE_LENGTH[size]


def test_from_a_pitch_and_a_turn_up_the_highest_pitch_carries_what_was_reckoned():
    string = strung(FULL).of("A4")
    higher = string.highest_after(string.target_hz, 10.0, 90.0)
    assert string.load_at(higher) == pytest.approx(string.carried(string.target_hz, 10.0, 90.0))


def test_a_machine_head_is_reckoned_with_the_fastest_worm_and_the_thickest_shaft():
    """From memory: 16 turns where 20 are usual, 12 mm where 10 are."""
    bass = strung(Settings(instrument=Instrument.DOUBLE_BASS, size=Size.FULL, cores=Cores.STEEL)).of("G2")
    by_hand = 1.5 * math.pi * 10.0 / 360.0 / 20.0 / (CORES[Cores.STEEL].breaks_at * 1.29 * 1060.0)
    assert bass.peg_load == pytest.approx(by_hand)


def test_a_plain_gut_e_stands_concert_pitch_but_hardly_more():
    """It is sold for 440 Hz and stands it (common practice)."""
    gut = Settings(string_set=StringSet.PLAIN_GUT_E)
    assert refusals(gut) == ()
    assert 0.0 < cents(strung(gut).of("E5").limit_hz, strung(gut).of("E5").target_hz) < 60.0
    assert len(refusals(Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(480.0)))) == 1


@pytest.mark.parametrize("instrument", Instrument)
@pytest.mark.parametrize("size", Size)
def test_what_is_not_known_is_never_taken_to_be_safer_than_what_may_be(instrument, size):
    unknown = strung(Settings(instrument=instrument))
    for cores in each(Cores):
        known = strung(Settings(instrument=instrument, size=size, cores=cores))
        for name in each(known.names):
            worst, real = unknown.of(name), known.of(name)
            assert worst.load >= real.load - 1e-12
            assert worst.peg_load >= real.peg_load - 1e-12
            assert worst.peg.most >= real.peg.most - 1e-12


def test_turning_twice_an_amount_at_its_pitch_breaks_no_string_that_was_heard():
    for instrument in each(Instrument):
        chosen = strung(Settings(instrument=instrument))
        for string in each(chosen.strings):
            little = chosen.degrees(TuningPart.PEG)[Amount.A_LITTLE]
            assert string.carried(string.target_hz, 2.0 * little, 0.0) < 1.0
            full = strung(Settings(instrument=instrument, size=Size.FULL)).of(string.name)
            assert full.carried(string.target_hz, 2.0 * little, 0.0) < NEAR_BREAKING


def test_pegs_and_screws_stand_where_the_settings_say():
    bass = strung(Settings(instrument=Instrument.DOUBLE_BASS))
    assert all(string.screw is None for string in bass.strings)
    highest = strung(Settings(fine_tuners=FineTuners.HIGHEST))
    assert [s.screw is not None for s in highest.strings] == [False, False, False, True]
    geared, wooden = strung(Settings(pegs=Pegs.GEARED)), strung(Settings())
    assert geared.of("A4").peg_load == pytest.approx(wooden.of("A4").peg_load / 4.0)
    assert geared.degrees(TuningPart.PEG)[Amount.MORE] == 4.0 * wooden.degrees(TuningPart.PEG)[Amount.MORE]
