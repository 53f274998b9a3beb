"""Scene in, picture out: what the child sees.

`draw` is pure: the same scene at the same moment gives the same picture, 128 by 64 pixels of one
colour. Only what moves by itself (a warning's frame, a plucking finger) depends on the moment.
"""

from PIL import Image

from device.coach import words as wording
from device.coach.state import Advice, Amount, Phase, Say, Turn
from device.drawing import bottom, fittings, lettering, track
from device.drawing.figures import words
from device.scene import Scene
from dsp import Seconds

WIDTH, HEIGHT = 128, 64
_LIT = frozenset({Say.RIGHT, Say.ALL_RIGHT})


def draw(scene: Scene, at: Seconds) -> Image.Image:
    """The picture of `scene` at `at`, mode "1", 128x64, 1 = lit."""
    del at
    picture = Image.new("1", (WIDTH, HEIGHT))
    if scene.resting:
        return picture
    if scene.coach.advice.warning is not None:
        picture.paste(1, (2, 20), words(wording.short(scene.coach.advice), 2))
    elif scene.fault is not None:
        picture.paste(1, (0, 20), words(scene.fault.value))
    elif scene.menu is not None:
        picture.paste(1, (0, 0), words(scene.menu.title))
        picture.paste(1, (0, 20), words(scene.menu.value))
    else:
        _lesson(picture, scene)
        if scene.coach.phase is Phase.RIGHT or scene.coach.advice.say in _LIT:
            return picture.point(lambda ink: 0 if ink else 255, "1")
    return picture


def _lesson(picture: Image.Image, scene: Scene) -> None:
    coach = scene.coach
    bottom.strip(picture, coach)
    if coach.advice.turn is not Turn.NONE:
        _turn(picture, scene, coach.advice)
        return
    picture.paste(1, (14, 5), lettering.letter(coach.string, 28, 42, 8.0))
    picture.paste(1, (46, 20), words(wording.short(coach.advice)))


def _turn(picture: Image.Image, scene: Scene, advice: Advice) -> None:
    coach, settings = scene.coach, scene.settings
    names = [string.name for string in coach.strings]
    name = advice.string or coach.string
    place, amount = names.index(name), advice.amount or Amount.A_HAIR
    if advice.turn is Turn.FINE_TUNER and advice.rotation is not None:
        picture.paste(1, (0, 0), track.track(coach.cents, coach.std_error_cents, settings.tolerance.cents))
        picture.paste(1, (14, 5), lettering.letter(name, 28, 42, 8.0))
        picture.paste(1, (42, 0), fittings.tailpiece(place, len(names), advice.rotation, amount))
        return
    low = place < len(names) // 2
    picture.paste(1, (0, 5), lettering.letter(name, 28, 42, 8.0))
    outer = place in {0, len(names) - 1}
    fitting = fittings.peg(low, not outer, advice.rotation, amount, advice.push_in)
    picture.paste(1, (30, 0), fitting)
