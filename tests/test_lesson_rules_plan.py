"""Which string comes next, by the rule."""

from dataclasses import replace

import pytest

from device.lesson.memory import Tuning
from device.lesson.plan import next_step
from tests.coaching import off
from tests.test_lesson import GROWN_UP, Played
from tests.test_lesson_rules_turns import evidence_of


@pytest.mark.parametrize(("ahead", "following"), [(150.0, "D4"), (250.0, "G3")])
def test_of_slack_strings_none_comes_up_by_more_than_200_cents_before_the_others(ahead, following):
    """They stand 500 or 700 cents apart, so each still sounds higher than the one below (chosen)."""
    lesson = Played(GROWN_UP).survey()
    now, known = evidence_of(lesson, "D4", 0.0).now, lesson.coach.memory.lesson
    slack = {"G3": -650.0, "D4": -650.0 + ahead}
    known = known.knowing(
        *(replace(known.of(n), hz=off(GROWN_UP, n, c), was_right=False) for n, c in slack.items())
    )
    outcome = next_step(replace(known, task=Tuning("D4")), now, "D4")
    assert outcome.string == following
