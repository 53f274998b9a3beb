"""The pictures of a lesson: the letter, what to do beside it, the strings along the bottom."""

from PIL import Image

from device.config.settings import Order
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Say
from device.lesson.state import Phase
from device.panel.drawing import lettering, notices, pluck_field, string_strip, turn_field
from device.panel.drawing.plate import INK
from device.panel.drawing.player_view import View, view_of
from device.panel.scene import Scene
from dsp import Instrument, Seconds

FIELD_X = 32  # where the field beside the letter begins, pixels from the left
LETTER = (28, 42)  # pixels; 40 or more are read across a room
_LETTER_AT = (2, 5)
_STROKE = 8.0  # pixels


def draw_lesson(picture: Image.Image, scene: Scene, at: Seconds) -> None:
    """Everything of a lesson but its end."""
    view = view_of(scene.settings, scene.coach)
    asked = _asked(scene, view, at)
    string_strip.strip(picture, scene, at)
    picture.paste(INK, _LETTER_AT, lettering.letter(asked, *LETTER, _STROKE))
    picture.paste(INK, (FIELD_X, 0), _field(scene, view, view.place(asked), at))


def _asked(scene: Scene, view: View, at: Seconds) -> str:
    """The string to show; each in turn while any of them may be plucked."""
    coach = scene.coach
    any_will_do = scene.settings.order is Order.WHICHEVER_IS_PLUCKED
    if any_will_do and coach.phase is Phase.WAITING and coach.advice.say is Say.PLUCK and view.count:
        return view.names[int(at / pluck_field.SWEEP_S) % view.count]
    return coach.advice.string or coach.string


def _field(scene: Scene, view: View, place: int | None, at: Seconds) -> Image.Image:
    """What stands beside the letter: the first of these that applies."""
    advice = scene.coach.advice
    if scene.judged is not None:
        return notices.judged_by_ear(scene.judged)
    if scene.coach.phase is Phase.RIGHT or advice.say is Say.RIGHT:
        return notices.well_done()
    if advice.turn is not TuningPart.NONE and place is not None:
        return turn_field.field(scene, view, place, at)
    if scene.by_ear:
        return pluck_field.by_ear(view, place)
    if scene.unfollowed:
        return pluck_field.too_soft(view, place)
    return _plucking(scene, view, place, at) or _waiting(scene, view, place, at) or notices.ask_teacher()


def _plucking(  # noqa: PLR0911 - one return a kind of advice
    scene: Scene, view: View, place: int | None, at: Seconds
) -> Image.Image | None:
    """Which string to pluck, and how; None where it is not about a pluck."""
    advice = scene.coach.advice
    match advice.say:
        case Say.PLUCK if scene.coach.phase is Phase.LISTENING:
            return pluck_field.let_it_ring(view, place)
        case Say.PLUCK | Say.PLUCK_AGAIN:
            return pluck_field.pluck_string(view, place, at, again=advice.say is Say.PLUCK_AGAIN)
        case Say.OTHER_STRING:
            return pluck_field.other_string(view, place, advice.heard)
        case Say.PLUCK_OTHERS | Say.PLUCK_ALL:
            left_out = view.place(scene.coach.string) if advice.say is Say.PLUCK_OTHERS else None
            return pluck_field.several(view, view.place(advice.string), left_out, at)
        case Say.CHECK:
            return pluck_field.check(view, place, at)
        case Say.TOO_FAST:
            return pluck_field.let_ring(view, place, at)
        case Say.NO_PITCH:
            return pluck_field.no_pitch(view, place)
    return None


def _waiting(scene: Scene, view: View, place: int | None, at: Seconds) -> Image.Image | None:
    """What somebody else does, or time; None where it is not about that."""
    match scene.coach.advice.say:
        case Say.WAIT:
            return notices.wait(at)
        case Say.GROWN_UP:
            return notices.grown_up(view, place, scene.settings.instrument is Instrument.DOUBLE_BASS, at)
        case Say.CHECK_BRIDGE:
            return notices.check_bridge()
    return None
