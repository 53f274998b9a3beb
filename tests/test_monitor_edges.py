"""The safety monitor's edges: what is one sounding, and how long it remembers."""

import pytest

from device.config.settings import Cores, Settings, Size
from device.instrument.strung import strung
from device.safety.string_bounds import Watch, after_hearing, watching
from dsp import Cents, Hz, shifted
from tests.coaching import read_as
from tests.each import each

STRUNG = strung(Settings(size=Size.FULL, cores=Cores.SYNTHETIC, pegs_by_grown_up=False))
A4 = STRUNG.of("A4").target_hz
HEARD_BEFORE_A_TURN = 16  # soundings that a roll call needs at the most, four strings four times


def heard(watch: Watch, hz: Hz, pluck: int, at: float) -> Watch:
    return after_hearing(watch, STRUNG, read_as(hz, at, pluck, 0.3, std_error_cents=Cents(0.0)), "A4")


@pytest.mark.parametrize(("jump", "one_string"), [(59.5, True), (60.5, False), (-59.5, True), (-60.5, False)])
def test_a_pitch_that_jumps_by_60_cents_within_one_sounding_is_not_one_strings(jump, one_string):
    first = heard(watching(STRUNG.names), A4, 1, 1.0)
    assert [hz for *_, hz in first.roll] == [A4]
    moved = shifted(A4, Cents(jump))
    second = heard(first, moved, 1, 1.2)
    assert [hz for *_, hz in second.roll] == ([moved] if one_string else [])
    third = heard(second, A4, 1, 1.4)  # nothing more of that sounding is believed
    assert len(third.roll) == one_string


def test_sixteen_soundings_since_the_last_turn_are_remembered_and_the_oldest_go_first():
    watch = watching(STRUNG.names)
    for number in each(range(1, HEARD_BEFORE_A_TURN + 3)):
        watch = heard(watch, A4, number, float(number))
        assert [entry[0] for entry in watch.roll][-1] == number
    assert [entry[0] for entry in watch.roll] == list(range(3, HEARD_BEFORE_A_TURN + 3))
