"""Gives the tests of the screen every piece of advice, and what may be asked of a picture."""

from dataclasses import replace
from itertools import combinations

from PIL import Image

from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Say
from device.panel.scene import MenuView
from device.panel.screen import HEIGHT, WIDTH, draw
from dsp import Seconds
from tests.coaching import turn_advice
from tests.scenes import VIOLIN, Shown

BEGIN = Seconds(0.0)


def lit_share(picture: Image.Image) -> float:
    return sum(picture.histogram()[1:]) / (WIDTH * HEIGHT)


def drawn(shown: Shown, at: float | None = None) -> bytes:
    return draw(shown.scene, shown.at if at is None else Seconds(at)).tobytes()


MENU = MenuView("Order", "A first", 2, 21, ("next", "before", "change"))


ADVICE = {
    say: Advice(say, heard="D4" if say is Say.OTHER_STRING else None)
    for say in Say
    if say not in {Say.TURN, Say.COME_UP, Say.PUSH_IN, Say.LOOSEN_BACK, Say.BACK_OUT, Say.TURN_ON}
}


TURNS = tuple(
    replace(turn_advice("A4", TuningPart.PEG, Direction.LOOSEN, Amount.MORE, VIOLIN), say=say)
    for say in Say
    if say not in ADVICE
)


def all_different(pictures_: dict[str, set[bytes]]) -> None:
    for (one, seen), (other, also) in combinations(pictures_.items(), 2):
        assert seen.isdisjoint(also), f"{one} and {other} look alike"
