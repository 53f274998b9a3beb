"""Draws a scene: a picture is what the child sees.

`draw` is pure: the same scene at the same moment gives the same picture, 128 by 64 pixels of one
colour. Only what moves by itself (a plucking finger, a warning's frame) depends on the moment.
"""

from PIL import Image

from device.lesson.advice import Say
from device.lesson.state import Phase
from device.panel.drawing import ending, key_caps, lesson, menu_page, status_pages, warnings
from device.panel.scene import Scene
from device.practice.running import Running
from dsp import Seconds

WIDTH, HEIGHT = 128, 64  # pixels
_LIT = frozenset({Say.RIGHT, Say.ALL_RIGHT})
_ENDS = frozenset({Say.ALL_RIGHT, Say.STAYS_OFF})


def draw(scene: Scene, at: Seconds) -> Image.Image:
    """The picture of `scene` at `at`: mode "1", 128x64, 255 is a lit pixel."""
    picture = Image.new("1", (WIDTH, HEIGHT))
    advice = scene.coach.advice
    if advice.warning is not None:
        warnings.draw_warning(picture, scene, advice.warning, at)
    elif scene.fault is not None:
        status_pages.draw_fault(picture, scene.fault)
    elif scene.menu is not None:
        menu_page.draw_menu_page(picture, scene, scene.menu)
    elif scene.resting:
        status_pages.draw_resting(picture, at)
    elif scene.practice is not None:
        return _practice(picture, scene, scene.practice)
    elif scene.sounding is not None:
        status_pages.draw_tone(picture, scene, scene.sounding)
    else:
        return _lesson(picture, scene, at)
    return picture


def _practice(picture: Image.Image, scene: Scene, running: Running) -> Image.Image:
    """What is practised; right is turned over, as in tune is."""
    running.practice.draw(picture, running.state, scene.settings)
    hints = running.practice.hints(running.state, scene.settings)
    if hints is not None:
        key_caps.row(picture, hints)
    return _turned_over(picture) if running.practice.is_lit(running.state) else picture


def _turned_over(picture: Image.Image) -> Image.Image:
    return picture.point(lambda ink: 0 if ink else 255, "1")


def _lesson(picture: Image.Image, scene: Scene, at: Seconds) -> Image.Image:
    """A lesson, its end included; in tune it is turned over: dark ink on a lit panel."""
    coach = scene.coach
    if coach.advice.say in _ENDS:
        ending.draw_ending(picture, scene, at)
    else:
        lesson.draw_lesson(picture, scene, at)
    if coach.phase is Phase.RIGHT or coach.advice.say in _LIT:
        return _turned_over(picture)
    return picture
