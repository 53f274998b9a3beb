"""What to do with the strings and a finger: pluck, pluck again, another one, the others, all."""

from PIL import Image

from device.coach.state import Say
from device.drawing import lettering, signs, strung
from device.drawing.strung import Looks
from device.drawing.view import View
from dsp import Seconds

PLUCK_S = 0.6  # seconds a finger holds the string and seconds it rings: well under two changes a second
_SWEEP_S = 0.75  # seconds the hand stays with each string when all are asked for


def _others(view: View, place: int | None, one: Looks, rest: Looks) -> Image.Image:
    looks = tuple(one if i == place else rest for i in range(view.count))
    return strung.strung(looks, view.low_on_the_left).copy()


def pluck(view: View, place: int | None, at: Seconds, *, again: bool = False) -> Image.Image:
    """A finger takes the string and lets it ring, over and over; a second hand behind it says again."""
    ringing = int(at / PLUCK_S) % 2 == 1
    field = _others(view, place, Looks.RINGING if ringing else Looks.PULLED, Looks.STILL)
    if place is not None:
        if again:
            strung.put_hand(field, place, view.count, aside=12, below=-11, hollow=True)
        strung.put_hand(field, place, view.count, aside=7 if ringing else 4)
    return field


def listen(view: View, place: int | None) -> Image.Image:
    """The string rings and an ear listens."""
    field = _others(view, place, Looks.RINGING, Looks.STILL)
    field.paste(1, (strung.WIDTH - 30, 4), signs.ear())
    return field


def other_string(view: View, place: int | None, heard: str | None) -> Image.Image:
    """The string that sounded is crossed out under its letter; the hand is at the one to pluck."""
    wrong = view.place(heard)
    looks = [Looks.STILL] * view.count
    if wrong is not None:
        looks[wrong] = Looks.RINGING
    if place is not None:
        looks[place] = Looks.PULLED
    field = strung.strung(tuple(looks), view.low_on_the_left).copy()
    if place is not None:
        strung.put_hand(field, place, view.count, aside=4)
    if wrong is not None and heard is not None:
        _crossed(field, round(strung.across(wrong, view.count)), heard)
    return field


def _crossed(field: Image.Image, middle: int, heard: str) -> None:
    """The letter of a string, crossed out, over the upper end of that string."""
    letter, cross = lettering.letter(heard, 14, 20, 3.4), signs.cross(20, 3.0)
    left = min(max(middle - 11, 0), field.width - 23)
    field.paste(0, (left, 0, left + 23, 24))
    field.paste(1, (left + 4, 1), letter)
    field.paste(0, (left, 1), signs.cross(22, 6.0))
    field.paste(1, (left + 1, 2), cross)


def several(view: View, place: int | None, say: Say, at: Seconds) -> Image.Image:
    """A hand goes from string to string; the one asked for is left out unless all are wanted."""
    left_out = None if say is Say.PLUCK_ALL else place
    asked = [i for i in range(view.count) if i != left_out]
    now = asked[int(at / _SWEEP_S) % len(asked)]
    looks = [Looks.LEFT_OUT if i == left_out else Looks.RINGING for i in range(view.count)]
    field = strung.strung(tuple(looks), view.low_on_the_left).copy()
    strung.put_hand(field, now, view.count, aside=7)
    if left_out is not None:
        x = round(strung.across(left_out, view.count))
        field.paste(0, (x - 9, 0, x + 9, 19))
        field.paste(1, (x - 8, 1), signs.cross(16, 3.0))
    return field
