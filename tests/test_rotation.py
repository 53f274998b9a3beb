"""Which way is up: every rotation of a peg derived again, from vectors.

The player looks at the strings with the scroll up: x to their right, y up along the string towards
the scroll, z out of the instrument towards whoever looks at the strings. A peg's shaft lies along x.
The string comes up from the nut to the front of the shaft (the side with the largest z); that it runs
over the front is common practice. Of a cello a teacher's page says what is assumed and what follows: seen
from the front the pegs of C and G are on the left and those of D and A on the right, and turned backwards,
which is towards the player, they tighten ("Cello Pegs", audreywilliamsmusic.wordpress.com, 2013).
"""

import numpy as np
import pytest

from device.config.settings import FineTuners, Pegs, Settings
from device.instrument.rotation import away_of, has_fine_tuner, push_in_needed, rotation_of
from device.instrument.tuning_parts import Direction, Rotation, TuningPart
from dsp import OPEN_STRINGS, Instrument, OpenString
from tests.each import each

UP, FRONT, RIGHT = np.array([0, 1, 0]), np.array([0, 0, 1]), np.array([1, 0, 0])
PEGGED = [Instrument.VIOLIN, Instrument.VIOLA, Instrument.CELLO]


def raising_spin() -> np.ndarray:
    """Angular velocity of a shaft whose front moves up: v = w x r, so w = r x v for unit vectors."""
    spin = np.cross(FRONT, UP)
    assert (np.cross(spin, FRONT) == UP).all()
    return spin


def seen_by(observer: np.ndarray, spin: np.ndarray) -> Rotation:
    """Counter-clockwise is the spin whose vector points at the observer (the right-hand rule)."""
    return Rotation.COUNTER_CLOCKWISE if spin @ observer > 0 else Rotation.CLOCKWISE


def head_of(place: int, *, left_handed: bool) -> np.ndarray:
    """Where the head of a string's peg sticks out; `place` 0 is the lowest string."""
    low = place < 2
    return RIGHT if low is left_handed else -RIGHT


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("instrument", PEGGED)
@pytest.mark.parametrize("place", range(4))
def test_facing_its_head_each_peg_turns_as_the_string_pulls(instrument, place, left_handed):
    settings = Settings(instrument=instrument, left_handed=left_handed)
    name = settings.strings[place].name
    raising = seen_by(head_of(place, left_handed=left_handed), raising_spin())
    assert rotation_of(name, TuningPart.PEG, Direction.TIGHTEN, settings) is raising
    assert rotation_of(name, TuningPart.PEG, Direction.LOOSEN, settings) is not raising
    assert rotation_of(name, TuningPart.PEG, Direction.LOOSEN, settings) is not None


def test_the_trade_says_the_same_of_a_right_handed_violin():
    """Common practice: counter-clockwise raises G and D, clockwise A and E, facing the head."""
    raising = [rotation_of(s.name, TuningPart.PEG, Direction.TIGHTEN, Settings()) for s in Settings().strings]
    assert [r.value for r in raising if r] == ["counter-clockwise"] * 2 + ["clockwise"] * 2


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize(
    ("instrument", "player"),
    [(Instrument.VIOLIN, FRONT), (Instrument.VIOLA, FRONT), (Instrument.CELLO, -FRONT)],
)
def test_the_top_of_the_peg_goes_away_from_a_lap_and_towards_a_cellist(instrument, player, left_handed):
    """In the lap the strings face the player; a seated cellist is behind the instrument."""
    top_moves = np.cross(raising_spin(), UP)
    settings = Settings(instrument=instrument, left_handed=left_handed)
    away = bool(top_moves @ player < 0)
    assert away_of(TuningPart.PEG, Direction.TIGHTEN, settings) is away
    assert away_of(TuningPart.PEG, Direction.LOOSEN, settings) is not away
    assert away is (instrument is not Instrument.CELLO)


@pytest.mark.parametrize("left_handed", [False, True])
@pytest.mark.parametrize("instrument", PEGGED)
def test_a_fine_tuner_raises_clockwise_on_every_string(instrument, left_handed):
    """A right-hand thread goes in clockwise, and going in pulls the string; a player's page says the same:
    clockwise is sharper ("Fine adjustments", stringsection.co.uk, 2010)."""
    settings = Settings(instrument=instrument, left_handed=left_handed)
    for string in each(settings.strings):
        for direction, rotation in zip(
            (Direction.TIGHTEN, Direction.LOOSEN),
            (Rotation.CLOCKWISE, Rotation.COUNTER_CLOCKWISE),
            strict=True,
        ):
            assert rotation_of(string.name, TuningPart.FINE_TUNER, direction, settings) is rotation
        assert away_of(TuningPart.FINE_TUNER, Direction.TIGHTEN, settings) is None


def test_machine_heads_have_no_rotation_and_are_not_pushed_in():
    settings = Settings(instrument=Instrument.DOUBLE_BASS)
    for string in settings.strings:
        assert rotation_of(string.name, TuningPart.PEG, Direction.TIGHTEN, settings) is None
        assert not has_fine_tuner(string.name, settings)
    assert away_of(TuningPart.PEG, Direction.TIGHTEN, settings) is None
    assert not push_in_needed(TuningPart.PEG, settings)


def test_no_turn_has_no_way():
    for string in Settings().strings:
        assert rotation_of(string.name, TuningPart.NONE, Direction.TIGHTEN, Settings()) is None
        assert rotation_of(string.name, TuningPart.PEG, Direction.NONE, Settings()) is None
    assert away_of(TuningPart.PEG, Direction.NONE, Settings()) is None


def test_with_five_strings_nobody_knows_which_side_a_peg_is_on():
    five = (OpenString.named("C3"), *OPEN_STRINGS[Instrument.VIOLIN])
    assert rotation_of("D4", TuningPart.PEG, Direction.TIGHTEN, Settings(retuned=five)) is None


def test_only_wooden_pegs_are_pushed_in():
    assert push_in_needed(TuningPart.PEG, Settings())
    assert not push_in_needed(TuningPart.PEG, Settings(pegs=Pegs.GEARED))
    assert not push_in_needed(TuningPart.FINE_TUNER, Settings())


def test_fine_tuners_are_where_the_settings_say():
    fitted = {
        t: [has_fine_tuner(s.name, Settings(fine_tuners=t)) for s in Settings().strings] for t in FineTuners
    }
    assert fitted == {
        FineTuners.ALL: [True] * 4,
        FineTuners.HIGHEST: [False, False, False, True],
        FineTuners.NONE: [False] * 4,
    }
