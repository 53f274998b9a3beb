"""What deserves the panel: a warning, a fault, the settings, rest or the lesson, the first that applies."""

from dataclasses import replace

import pytest

from device.lesson.advice import Advice, Alarm
from device.lesson.state import Phase
from device.panel.scene import Fault, MenuView, Scene, scene_of
from device.panel.screen import draw
from dsp import Seconds
from tests.scenes import VIOLIN, lesson

QUIET = lesson("A4", phase=Phase.WAITING).scene.coach
ALARMED = replace(QUIET, advice=Advice(warning=Alarm.STOP))
PAGE = MenuView("Order", "A first", 2, 21, ("next", "before", "change"))
WHOLE = {"fault": Fault.TOO_LOUD, "menu": PAGE, "resting": True, "sounding": "A4"}


def test_a_warning_outranks_everything():
    assert scene_of(VIOLIN, ALARMED, **WHOLE) == Scene(VIOLIN, ALARMED)


@pytest.mark.parametrize(
    ("left_out", "kept"),
    [
        ((), {"fault": Fault.TOO_LOUD}),
        (("fault",), {"menu": PAGE}),
        (("fault", "menu"), {"resting": True}),
        (("fault", "menu", "resting"), {"sounding": "A4"}),
    ],
)
def test_only_the_first_that_applies_is_kept(left_out, kept):
    asked = {key: value for key, value in WHOLE.items() if key not in left_out}
    assert scene_of(VIOLIN, QUIET, **asked) == Scene(VIOLIN, QUIET, **kept)


@pytest.mark.parametrize("left_out", [(), ("fault",), ("fault", "menu"), ("fault", "menu", "resting")])
def test_the_screen_keeps_the_same_order_for_a_scene_that_holds_more(left_out):
    asked = {key: value for key, value in WHOLE.items() if key not in left_out}
    both = Scene(VIOLIN, QUIET, **asked), scene_of(VIOLIN, QUIET, **asked)
    assert len({draw(scene, Seconds(0.0)).tobytes() for scene in both}) == 1


def test_what_belongs_to_the_lesson_is_kept_with_it():
    beside = {"by_ear": True, "unfollowed": True, "unusual": frozenset({"instrument"})}
    assert scene_of(VIOLIN, QUIET, **beside) == Scene(VIOLIN, QUIET, **beside)
