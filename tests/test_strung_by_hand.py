"""What a degree of a peg and of a screw does, worked out by hand from lengths, shafts and stretch.

The figures are those of the trade as the code states them (common practice and from memory), written down
again here, so this is a check of the working and that no figure moved, and not of the figures themselves.
"""

import math

import pytest

from device.config.settings import Cores, Pegs, Settings, Size, StringSet
from device.instrument.refusals import refusals
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Slope, TuningPart
from dsp import Hz, Instrument
from tests.each import each

MM_NUT_TO_BRIDGE = {"violin": 328.0, "viola": 375.0, "cello": 695.0, "double-bass": 1060.0}
MM_SHAFT = {"violin": 6.8, "viola": 7.4, "cello": 10.0, "double-bass": 10.0}
THICKER = {"violin": 1.16, "viola": 1.16, "cello": 1.25, "double-bass": 1.5}  # than usual, or a faster worm
TURNS = {"violin": 1.0, "viola": 1.0, "cello": 1.0, "double-bass": 20.0}  # a bass's worm
STRETCH = {Cores.GUT: 0.025, Cores.SYNTHETIC: 0.036, Cores.STEEL: 0.0075}  # at its pitch, usual
# Makers differ so far: a plain gut D is stretched by 0.9 % at its pitch (Materials 11 (2018) 2160); the
# others, and the far ends, are from memory.
STRETCH_FROM_TO = {Cores.GUT: (0.009, 0.05), Cores.SYNTHETIC: (0.024, 0.072), Cores.STEEL: (0.004, 0.014)}
WHOLE = 1.29  # tailpiece to peg over nut to bridge


def usual_peg(instrument: Instrument, cores: Cores, turns: float = 1.0) -> float:
    """The share of its tension that one degree adds: the string wound up, over how far it is stretched."""
    name = instrument.value
    wound_mm = math.pi * MM_SHAFT[name] / 360.0 / (TURNS[name] * turns)
    return wound_mm / (STRETCH[cores] * MM_NUT_TO_BRIDGE[name] * WHOLE)


@pytest.mark.parametrize("instrument", Instrument)
@pytest.mark.parametrize("cores", list(STRETCH))
def test_a_degree_of_a_peg_adds_what_it_winds_up_over_what_the_string_is_stretched(instrument, cores):
    lowest = strung(Settings(instrument=instrument, size=Size.FULL, cores=cores)).strings[0]
    assert lowest.peg.usual == pytest.approx(usual_peg(instrument, cores), rel=1e-6)
    assert not lowest.plain


@pytest.mark.parametrize("instrument", Instrument)
@pytest.mark.parametrize("cores", list(STRETCH))
def test_the_steepest_and_the_least_steep_string_are_those_that_are_stretched_least_and_most(
    instrument, cores
):
    lowest = strung(Settings(instrument=instrument, size=Size.FULL, cores=cores)).strings[0]
    least, most = STRETCH_FROM_TO[cores]
    usual, thicker = usual_peg(instrument, cores), THICKER[instrument.value]
    assert lowest.peg.most == pytest.approx(usual * STRETCH[cores] / least * thicker, rel=1e-6)
    assert lowest.peg.least == pytest.approx(usual * STRETCH[cores] / most / thicker, rel=1e-6)


@pytest.mark.parametrize(("cores", "stretch"), [(Cores.STEEL, 0.0075), (Cores.SYNTHETIC, 0.036)])
def test_a_fine_tuner_surely_takes_a_string_as_far_as_two_of_its_turns_stretch_it(cores, stretch):
    """0.8 mm on a string that is stretched by so much; twice the tension is half an octave, since tension
    goes with the square of pitch. Where that is less than the last 50 cents (common practice), it is 50."""
    string = strung(Settings(size=Size.FULL, cores=cores)).of("A4")
    by_hand = 600.0 * math.log2(1.0 + 0.8 / (stretch * 328.0 * WHOLE))
    assert string.screw_reach == pytest.approx(max(by_hand, 50.0), abs=0.1)
    assert (by_hand > 50.0) is (cores is Cores.STEEL)


def test_a_geared_peg_turns_four_times_for_one_turn_of_its_shaft():
    geared = strung(Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs=Pegs.GEARED)).of("G3")
    assert geared.peg.usual == pytest.approx(usual_peg(Instrument.VIOLIN, Cores.SYNTHETIC, 4.0), rel=1e-6)


def test_a_turn_of_a_screw_pulls_four_tenths_of_a_millimetre():
    """Half a millimetre of thread on a lever of 0.8."""
    string = strung(Settings(size=Size.FULL, cores=Cores.STEEL)).of("A4")
    assert string.screw is not None
    assert 360.0 * string.screw.usual == pytest.approx(0.4 / (0.0075 * 328.0 * WHOLE), rel=1e-6)


def test_a_plain_steel_e_is_stretched_by_its_stress_over_the_modulus():
    """Hooke: 7850 kg/m3 x (2 x 0.328 m x 659.26 Hz)^2 = 1468 MPa; over 210 GPa that is 0.70 %."""
    string = strung(Settings(size=Size.FULL)).of("E5")
    stretch = 7850.0 * (2.0 * 0.328 * 659.255) ** 2 / 210e9
    assert stretch == pytest.approx(0.0070, abs=0.0001)
    assert string.peg.usual == pytest.approx(math.pi * 6.8 / 360.0 / (stretch * 328.0 * WHOLE), rel=1e-4)
    assert string.plain


def test_plain_es_differ_by_fifteen_hundredths_in_how_far_they_are_stretched():
    """From memory: thinner and thicker wire, and pegs a sixth thicker than usual."""
    peg = strung(Settings(size=Size.FULL)).of("E5").peg
    assert peg.most == pytest.approx(1.15 * 1.16 * peg.usual, rel=1e-6)
    assert peg.least == pytest.approx(peg.usual / 1.15 / 1.16, rel=1e-6)
    assert peg.times(2.0) == Slope(2.0 * peg.least, 2.0 * peg.usual, 2.0 * peg.most)


@pytest.mark.parametrize(
    ("instrument", "shares"),
    [
        (Instrument.VIOLIN, {"G3": 0.5, "D4": 0.5, "A4": 0.55}),
        (Instrument.VIOLA, {"C3": 0.5, "G3": 0.5, "D4": 0.5, "A4": 0.55}),
        (Instrument.CELLO, {"C2": 0.5, "G2": 0.5, "D3": 0.5, "A3": 0.55}),
        (Instrument.DOUBLE_BASS, {"E1": 0.5, "A1": 0.5, "D2": 0.5, "G2": 0.55}),
    ],
)
def test_the_highest_wound_string_bears_most_of_what_breaks_it(instrument, shares):
    """Shares of the least breaking load at the pitch, from memory: a pull that is nearly the same on all
    strings hangs on the thinnest core of the highest one."""
    instrument_strung = strung(Settings(instrument=instrument, size=Size.FULL, cores=Cores.SYNTHETIC))
    assert {s.name: s.load for s in instrument_strung.strings if not s.plain} == pytest.approx(shares)


def test_the_margin_is_reached_well_before_any_string_breaks():
    """Any string stands a fourth too high, (4/3)^2 times its pull (common practice without a source).

    One that just does so bears 0.56 of its breaking load in tune; with 40 cents taken off, 0.59.
    """
    for string in each(strung(Settings(size=Size.FULL, cores=Cores.STEEL)).strings[:2]):
        pull = (string.limit_hz / string.made_hz) ** 2
        assert pull == pytest.approx(1.6)
        assert pull < 0.95 * (4.0 / 3.0 * 2.0 ** (-40.0 / 1200.0)) ** 2


def test_a_plain_gut_e_breaks_at_245_hertz_metres():
    """A string maker's tests give 240 to 280; load goes with the square of length times pitch."""
    string = strung(Settings(size=Size.FULL, string_set=StringSet.PLAIN_GUT_E)).of("E5")
    assert string.load_at(Hz(659.255)) == pytest.approx((0.328 * 659.255 / 245.0) ** 2, rel=1e-5)


def test_a_smaller_instrument_stretches_the_same_string_less():
    """With the square of its length, lengths of makers' figures from memory: 3/4 is 0.94 of a full one, 1/16
    0.64; the peg's pull stays, as the thinner shaft goes with the shorter string."""
    full, small = (strung(Settings(size=size, cores=Cores.STEEL)) for size in (Size.FULL, Size.SIXTEENTH))
    ratio = small.of("G3").peg.most / full.of("G3").peg.most
    assert ratio == pytest.approx(0.64**-2.0, rel=1e-6)
    three_quarter = strung(Settings(size=Size.THREE_QUARTER, cores=Cores.STEEL))
    assert three_quarter.of("G3").peg.most / full.of("G3").peg.most == pytest.approx(0.94**-2.0, rel=1e-6)


def test_the_amounts_stand_for_these_degrees():
    """Chosen by us: what the marks of a picture may be taken to mean."""
    unknown, bass = strung(Settings()), strung(Settings(instrument=Instrument.DOUBLE_BASS))
    violin = strung(Settings(cores=Cores.SYNTHETIC))
    hair, little, more = Amount.A_HAIR, Amount.A_LITTLE, Amount.MORE
    assert dict(violin.degrees(TuningPart.PEG)) == {hair: 2.0, little: 8.0, more: 12.0}
    assert dict(unknown.degrees(TuningPart.PEG)) == {hair: 2.0, little: 6.0, more: 9.0}  # it may be of steel
    assert dict(violin.degrees(TuningPart.FINE_TUNER)) == {hair: 30.0, little: 120.0, more: 360.0}
    assert dict(bass.degrees(TuningPart.PEG)) == {hair: 10.0, little: 45.0, more: 180.0}


def test_a_refusal_names_the_highest_whole_reference_that_would_work():
    """Load goes with the square of the pitch, so the limit goes with the reference."""
    gut = Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(470.0))
    (sentence,) = refusals(gut)
    offered = next(hz for hz in range(470, 380, -1) if f"a reference pitch of {hz} Hz" in sentence)
    assert refusals(Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(float(offered)))) == ()
    assert refusals(Settings(string_set=StringSet.PLAIN_GUT_E, reference_hz=Hz(offered + 1.0))) != ()
