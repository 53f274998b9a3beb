"""The simulated instrument against physics, a handbook and common practice."""

import math
import random
from dataclasses import replace

import pytest

from demo.geometry import Spin
from demo.instrument import errors
from demo.materials import BODY_MM_PER_N, MATERIALS, SCREW_TRAVEL_MM
from demo.starts import Start, found
from demo.workshop import Build, new_string, retuned, strung, targets
from dsp import Cents, Hz, Instrument, OpenString, Seconds, cents, shifted, string_frequencies

VIOLIN = targets(Instrument.VIOLIN)


def tuned(**changed):
    """A full-size violin, in tune but for the strings named, in cents."""
    pitches = {name: shifted(hz, Cents(changed.get(name, 0.0))) for name, hz in VIOLIN.items()}
    return strung(Build(), pitches)


def raising(instrument, name):
    return next(spin for spin in Spin if instrument.string(name).shaft.winding(spin) > 0)


def test_the_steel_e_pulls_as_the_physics_of_music_wire_says():
    """Mersenne's law with steel of 7850 kg/m3 (handbook), 0.26 mm, 328 mm, E5 at 659.26 Hz."""
    mass = 7850.0 * math.pi / 4.0 * 0.26e-3**2
    tension = mass * (2.0 * 0.328 * 659.26) ** 2
    assert tuned().tensions()[3] == pytest.approx(tension, rel=0.01)


@pytest.mark.parametrize(("up", "ratio"), [(100.0, 1.12), (200.0, 1.26), (701.955, 2.25)])
def test_tension_goes_with_the_square_of_frequency(up, ratio):
    """Common practice: +100 cents is +12 %, +200 is +26 %, a fifth is 2.25 times."""
    low, high = tuned(A4=-800.0), tuned(A4=-800.0 + up)
    assert high.tensions()[2] / low.tensions()[2] == pytest.approx(ratio, rel=0.005)


def test_what_is_tuned_sounds_so():
    off = errors(tuned(D4=-30.0, E5=12.0), VIOLIN)
    assert off == pytest.approx({"G3": 0.0, "D4": -30.0, "A4": 0.0, "E5": 12.0}, abs=1e-6)


@pytest.mark.parametrize("name", VIOLIN)
def test_the_raising_turn_raises_and_the_other_lowers(name):
    instrument = tuned()
    up = raising(instrument, name)
    assert errors(instrument.turn_peg(name, up, 3.0), VIOLIN)[name] > 5.0
    assert errors(instrument.turn_peg(name, up.opposite, 3.0), VIOLIN)[name] < -5.0


def test_a_steel_e_is_some_five_times_as_touchy_as_a_synthetic_a():
    """Common practice, by the peg, on a full size."""
    instrument = tuned()
    moved = {n: errors(instrument.turn_peg(n, raising(instrument, n), 1.0), VIOLIN)[n] for n in ("A4", "E5")}
    assert 4.0 < moved["E5"] / moved["A4"] < 6.0


def test_a_small_instrument_is_touchier():
    """Common practice: cents per degree of peg go up steeply as the size goes down."""
    moved = []
    for size in ("4/4", "3/4", "1/2", "1/4"):
        instrument = strung(Build(size=size), VIOLIN)
        moved.append(errors(instrument.turn_peg("A4", raising(instrument, "A4"), 1.0), VIOLIN)["A4"])
    assert moved == sorted(moved)
    assert moved[-1] > 1.5 * moved[0]


def test_raising_one_string_lowers_the_others_by_a_few_cents():
    instrument = tuned(A4=-100.0)
    up = raising(instrument, "A4")
    while errors(instrument, VIOLIN)["A4"] < 0.0:
        instrument = instrument.turn_peg("A4", up, 1.0)
    off = errors(instrument, VIOLIN)
    assert all(-6.0 < off[name] < -0.1 for name in ("G3", "D4", "E5"))


def test_a_fine_tuner_stops_at_both_ends_of_its_travel():
    instrument = tuned()
    far = instrument.turn_screw("A4", Spin.CLOCKWISE, 36000.0)
    assert far.string("A4").screw_mm == SCREW_TRAVEL_MM
    assert far == far.turn_screw("A4", Spin.CLOCKWISE, 90.0)
    assert instrument.turn_screw("A4", Spin.COUNTER_CLOCKWISE, 36000.0).string("A4").screw_mm == 0.0


def test_a_string_wound_past_its_breaking_load_snaps_and_sounds_no_more():
    instrument = tuned()
    up = raising(instrument, "E5")
    broken = instrument.turn_peg("E5", up, 90.0)
    assert broken.broken == ("E5",)
    assert broken.pitch("E5") is None
    assert broken.load("E5") == 0.0
    assert all(broken.pitch(name) > VIOLIN[name] for name in ("G3", "D4", "A4"))


def test_a_string_let_go_is_slack_and_can_be_wound_again():
    instrument = tuned()
    up = raising(instrument, "A4")
    slack = instrument.turn_peg("A4", up.opposite, 360.0)
    assert slack.pitch("A4") is None
    assert errors(slack.turn_peg("A4", up, 360.0), VIOLIN)["A4"] == pytest.approx(0.0, abs=1e-6)


def test_a_new_string_creeps_flat_and_an_old_one_stays():
    build = Build()
    instrument = found(Start.FRESHLY_STRUNG, build, VIOLIN, random.Random(4))
    before = errors(instrument, VIOLIN)
    after = errors(instrument.later(Seconds(60.0)), VIOLIN)
    new = min(before, key=lambda name: before[name])
    assert -40.0 < after[new] - before[new] < -1.0
    assert all(abs(after[name] - before[name]) < 1.0 for name in before if name != new)


def test_turns_commute_with_the_body_that_gives():
    """The tensions solve T_i = k_i (x_i - c (S - T_i)): put back into it, nothing is left over."""
    instrument = tuned(A4=-50.0)
    pulls = instrument.tensions()
    total = sum(pulls)
    for string, pull in zip(instrument.strings, pulls, strict=True):
        stretch = string.pulled_mm - BODY_MM_PER_N * (total - pull)
        assert pull == pytest.approx(string.stiffness_n_per_mm * stretch)


@pytest.mark.parametrize("kind", Instrument)
def test_every_instrument_stands_well_under_its_breaking_load_in_tune(kind):
    instrument = strung(Build(kind), targets(kind))
    assert all(0.3 < instrument.load(name) < 0.7 for name in MATERIALS[kind])


@pytest.mark.parametrize(
    ("kind", "notes"),
    [
        (Instrument.VIOLIN, "A3 E4 A4 E5"),  # the two low ones up a tone
        (Instrument.VIOLIN, "G3 D4 A4 D5"),
        (Instrument.VIOLIN, "C3 G3 D4 A4 E5"),
        (Instrument.DOUBLE_BASS, "B0 E1 A1 D2 G2"),
    ],
)
def test_retuned_and_five_strings_sound_their_notes_under_a_plausible_load(kind, notes):
    """A string taken up a tone carries a quarter more (tension goes with the square of frequency)."""
    strings = tuple(OpenString.named(note) for note in notes.split())
    goals = dict(zip(notes.split(), string_frequencies(strings, Hz(440.0)), strict=True))
    instrument = strung(Build(kind, retuned=strings), goals)
    assert [string.name for string in instrument.strings] == notes.split()
    for name, goal in goals.items():
        assert cents(instrument.pitch(name), goal) == pytest.approx(0.0, abs=1e-6)
        assert 0.25 < instrument.load(name) < 0.75


def test_a_string_taken_up_a_tone_carries_a_quarter_more():
    usual = strung(Build(), VIOLIN)
    strings = tuple(OpenString.named(note) for note in ("A3", "D4", "A4", "E5"))
    goals = VIOLIN | {"A3": Hz(220.0)}
    raised = strung(Build(retuned=strings), goals)
    share = raised.load("A3") / usual.load("G3")
    assert share == pytest.approx((220.0 / VIOLIN["G3"]) ** 2)
    assert share == pytest.approx(1.26, abs=0.01)


@pytest.mark.parametrize("start", Start)
def test_every_start_is_off_as_its_name_says(start):
    lowest = {
        Start.SLACK_FIFTH: -790,
        Start.SLIPPED_OCTAVE: -1260,
        Start.FRESHLY_STRUNG: -1100,
        Start.DRY_WEEK: -60,
    }
    for seed in range(20):
        off = errors(found(start, Build(), VIOLIN, random.Random(seed)), VIOLIN)
        assert min(off.values()) >= lowest.get(start, -25.0) - 1.0
        assert max(off.values()) <= (215.0 if start is Start.TONE_SHARP else 30.0) + 1.0
        if start in lowest and start is not Start.DRY_WEEK:
            assert sum(value < -400.0 for value in off.values()) == 1


def test_the_same_seed_gives_the_same_instrument_and_another_seed_another():
    one, same, other = (found(Start.DRY_WEEK, Build(), VIOLIN, random.Random(s)) for s in (1, 1, 2))
    assert one == same
    assert one != other


def test_stiffness_and_breaking_load_vary_as_far_as_they_should():
    nominal = new_string(Build(), 2)
    drawn = [found(Start.FEW_CENTS, Build(), VIOLIN, random.Random(s)).string("A4") for s in range(200)]
    stiff = [s.stiffness_n_per_mm / nominal.stiffness_n_per_mm for s in drawn]
    strong = [s.breaking_n / nominal.breaking_n for s in drawn]
    assert 0.5 <= min(stiff) < 0.6
    assert 1.4 < max(stiff) <= 1.5
    assert 0.85 <= min(strong) < 0.9
    assert 1.25 < max(strong) <= 1.3


def test_a_broken_string_can_be_retuned_around():
    instrument = retuned(tuned(), VIOLIN)
    broken = replace(instrument, strings=tuple(replace(s, broken=s.name == "E5") for s in instrument.strings))
    assert broken.tensions()[3] == 0.0
    assert broken.pitch("A4") > Hz(440.0)
    assert cents(broken.pitch("A4"), VIOLIN["A4"]) < 20.0
