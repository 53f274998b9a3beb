"""The ceiling on the tracker's work, as arithmetic, and on the dearest sounds that a search has found."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dsp import Instrument, PitchTracker, tracker, work_budget
from dsp.work_budget import A_SECOND, DEAREST_STEP, GLIMPSE, LOOK, MOST_LOOKS, RESERVE, STORE, WorkBudget
from tests.bench.common import BLOCK, RATE, wall_range
from tests.bench.dearest import Recipe
from tests.each import each

HOP_S = 0.01
DEAREST = (
    Recipe(Instrument.VIOLIN, 609.2, 10, 1, 6.14, 1.12, 0.0014, 10.0, 0.81, 1068095576),
    Recipe(Instrument.VIOLIN, 82.5, 24, 3, 5.0, 1.0, 0.01, 10.0, 0.8, 2),
    Recipe(Instrument.CELLO, 65.4, 24, 5, 3.0, 3.0, 0.001, 60.0, 0.5, 3),
)
"""Six plucks a second that sway, the dearest that `tests.bench.dearest` found, and many notes at once."""


@given(st.lists(st.tuples(st.booleans(), st.floats(0.0, DEAREST_STEP)), min_size=1, max_size=600))
def test_no_stretch_of_steps_takes_more_than_its_time_the_store_and_the_last_step(steps):
    budget, done = WorkBudget(), [0.0]
    for hop, (young, work) in enumerate(steps):
        allowed = budget.allows(HOP_S * hop, young=young)
        budget.spend(work if allowed else 0.0)
        done.append(done[-1] + (work if allowed else 0.0))
    over = np.array(done) - A_SECOND * HOP_S * np.arange(len(done))
    worst = float((over - np.minimum.accumulate(over)).max())
    assert worst <= STORE + DEAREST_STEP + A_SECOND * HOP_S


def test_what_is_not_young_leaves_the_reserve():
    budget = WorkBudget()
    budget.spend(STORE - RESERVE)
    assert not budget.allows(0.0, young=False)
    assert budget.allows(0.0, young=True)
    assert budget.allows(0.01, young=False)


def test_a_step_that_was_not_allowed_waits_no_longer_than_its_work_takes_to_come_back():
    budget = WorkBudget()
    budget.spend(STORE + 19.0)
    assert not budget.allows(0.09, young=True)
    assert budget.allows(0.11, young=True)


def test_no_more_looks_than_said_are_made_in_a_second():
    budget = WorkBudget()
    made = [at for at in HOP_S * np.arange(400) if budget.allows_look(at, young=True)]
    assert len(made) >= MOST_LOOKS * 3
    assert max(sum(at <= one < at + 1.0 for one in made) for at in made) == MOST_LOOKS


def counted(recipe: Recipe, monkeypatch: pytest.MonkeyPatch) -> tuple[dict[str, int], float]:
    """Most steps of each kind in any second of the sound, and most work."""
    steps: list[tuple[float, str, float]] = []
    watched = PitchTracker(RATE, *wall_range(recipe.instrument))

    def counting(name, function, work):
        def called(*given, **named):
            found = function(*given, **named)
            steps.append((watched._intake.time_s, name, work(given, found)))
            return found

        return called

    def fit(given, found):
        return work_budget.fit_work(given[0], found[0])

    monkeypatch.setattr(tracker, "looked", counting("look", tracker.looked, lambda *_: LOOK))
    monkeypatch.setattr(tracker, "glimpsed", counting("glimpse", tracker.glimpsed, lambda *_: GLIMPSE))
    monkeypatch.setattr(tracker, "brought_up", counting("fit", tracker.brought_up, fit))
    sound = recipe.sound(4.0)
    for first in range(0, sound.size, BLOCK):
        watched.feed(sound[first : first + BLOCK])
    second = 1.0 - HOP_S / 2.0  # so that a hop a second later is outside, however times are rounded
    seconds = [[step for step in steps if at <= step[0] < at + second] for at, _, _ in steps]
    kinds = {kind: max(sum(s[1] == kind for s in second) for second in seconds) for kind in ("look", "fit")}
    return kinds, max(sum(s[2] for s in second) for second in seconds)


def test_the_dearest_sounds_stay_under_the_ceiling(monkeypatch):
    most = 0.0
    for recipe in each(DEAREST):
        with monkeypatch.context() as patched:
            kinds, work = counted(recipe, patched)
        assert kinds["look"] <= MOST_LOOKS, recipe.said()
        assert kinds["fit"] <= 50, recipe.said()
        assert work <= A_SECOND + STORE + DEAREST_STEP, recipe.said()
        most = max(most, work)
    assert most > A_SECOND  # else the ceiling was not met, and nothing shown
