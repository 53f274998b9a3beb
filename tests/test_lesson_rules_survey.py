"""What the survey makes of a pitch that is in no string's place, by the rule."""

import pytest

from device.lesson.advice import Alarm
from tests.test_lesson import CHILD, Played


@pytest.mark.parametrize(
    ("away", "asked"), [(39.5, True), (40.5, False), (-39.5, True), (-40.5, False), (0.0, True)]
)
def test_within_40_cents_of_a_string_that_only_other_instruments_have_which_instrument_is_this(away, asked):
    """A viola's C lies a fifth below a violin's G; twice over it is no chance (40 cents: chosen)."""
    lesson = Played(CHILD)
    for _ in range(2):
        lesson.pluck("G3", -700.0 + away)
    assert (lesson.advice.warning is Alarm.ANOTHER_INSTRUMENT) is asked
