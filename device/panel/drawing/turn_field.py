"""The field of a turn: which screw, peg or machine head, which way and how far."""

from PIL import Image

from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Say
from device.panel.drawing import arrows, heads, pegs, people, tailpiece, track
from device.panel.drawing.plate import INK
from device.panel.drawing.player_view import View
from device.panel.scene import Scene
from dsp import Seconds

WIDTH, HEIGHT = 94, 52  # pixels
SPELLED_S = 1.5  # seconds with the machine heads and as long with the word
PULSE_S = 0.6  # seconds an arrow is fat and seconds it is not: under one blink a second


def field(scene: Scene, view: View, place: int, at: Seconds) -> Image.Image:
    """What to turn, 94 by 52 pixels."""
    advice = scene.coach.advice
    amount = advice.amount or Amount.A_HAIR
    fat = advice.say is Say.TURN_ON and int(at / PULSE_S) % 2 == 1
    if advice.rotation is None or (advice.turn is TuningPart.PEG and view.count != pegs.COUNT):
        tighten, spelled = advice.direction is Direction.TIGHTEN, int(at / SPELLED_S) % 2 == 1
        return heads.machine_head(place, view.count, tighten, amount, spelled)
    if advice.turn is TuningPart.PEG:
        return pegs.peg(place, bool(advice.away), amount, _push(advice), fat)
    whole = Image.new("1", (WIDTH, HEIGHT))
    whole.paste(INK, (0, 0), _beside(scene))
    degrees = advice.degrees or arrows.USUAL_DEG[amount]
    screws = tailpiece.tailpiece(place, view.count, advice.rotation, degrees, view.from_behind, fat)
    whole.paste(INK, (WIDTH - screws.width, 0), screws)
    return whole


def _push(advice: Advice) -> pegs.Push:
    if advice.say is Say.PUSH_IN:
        return pegs.Push.ABOVE_ALL
    return pegs.Push.WHILE_TURNING if advice.push_in else pegs.Push.NONE


def _beside(scene: Scene) -> Image.Image:
    """Left of the tailpiece: the bead on the string, or the grown-up whose job it is."""
    coach = scene.coach
    if coach.advice.say is Say.BACK_OUT:
        beside = Image.new("1", (track.WIDTH, track.HEIGHT))
        beside.paste(INK, (2, 3), people.tall_one(10, 46))
        return beside
    return track.track(coach.cents, coach.std_error_cents, scene.settings.tolerance.cents)
