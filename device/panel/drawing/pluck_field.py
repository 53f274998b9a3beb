"""What to do with the strings and a finger: pluck, pluck again, another one, the others, all."""

from PIL import Image

from device.panel.drawing import fingerboard, lettering, signs
from device.panel.drawing.fingerboard import Looks
from device.panel.drawing.plate import INK
from device.panel.drawing.player_view import View
from dsp import Seconds

PLUCK_S = 0.6  # seconds a finger holds the string and seconds it rings: well under two changes a second
_EAR_ZOOM, _EAR_WIDTH = 0.7, 21
_HEARD = 21, 27  # pixels, the letter of the string that was heard
_AT, _AWAY = 4, 7  # pixels from the string to the finger that takes it, and that lets it ring
SWEEP_S = 1.2  # seconds the hand stays with each string when all are asked for


def _others(view: View, place: int | None, one: Looks, rest: Looks) -> Image.Image:
    looks = tuple(one if i == place else rest for i in range(view.count))
    return fingerboard.strings_over_board(looks).copy()


def pluck_string(view: View, place: int | None, at: Seconds, *, again: bool = False) -> Image.Image:
    """A finger takes the string and lets it ring, over and over; with an ear it says again."""
    ringing = int(at / PLUCK_S) % 2 == 1
    field = _others(view, place, Looks.RINGING if ringing else Looks.PULLED, Looks.STILL)
    if again:
        left = fingerboard.WIDTH - _EAR_WIDTH
        field.paste(0, (left - 4, 0, fingerboard.WIDTH, 34))
        field.paste(INK, (left, 0), signs.ear(_EAR_ZOOM))
    if place is not None:
        fingerboard.put_hand(field, fingerboard.across(place, view.count), _AWAY if ringing else _AT)
    return field


def let_it_ring(view: View, place: int | None) -> Image.Image:
    """The string rings and an ear listens."""
    field = _others(view, place, Looks.RINGING, Looks.STILL)
    field.paste(INK, (fingerboard.WIDTH - 30, 4), signs.ear())
    return field


def too_soft(view: View, place: int | None) -> Image.Image:
    """The ear is struck out: that pluck was not followed."""
    field = _others(view, place, Looks.STILL, Looks.STILL)
    field.paste(INK, (fingerboard.WIDTH - 30, 4), signs.ear())
    field.paste(0, (fingerboard.WIDTH - 33, 2), signs.slash(33, 48, 9.0))
    field.paste(INK, (fingerboard.WIDTH - 33, 2), signs.slash(33, 48, 4.5))
    return field


def by_ear(view: View, place: int | None) -> Image.Image:
    """The reading is hidden: the string rings, the player's own ear decides."""
    field = _others(view, place, Looks.RINGING, Looks.STILL)
    field.paste(0, (52, 0, fingerboard.WIDTH, fingerboard.HEIGHT))
    field.paste(INK, (52, 9), signs.ear(_EAR_ZOOM))
    field.paste(INK, (73, 8), signs.question().crop((2, 0, 23, 38)))
    return field


def check(view: View, place: int | None, at: Seconds) -> Image.Image:
    """Strings pull at each other: the same pluck again, with a tick to be earned beside it."""
    field = pluck_string(view, place, at)
    field.paste(0, (70, 0, fingerboard.WIDTH, 27))
    field.paste(INK, (72, 2), signs.tick(22, 20, 4.5))
    return field


def let_ring(view: View, place: int | None, at: Seconds) -> Image.Image:
    """Too fast: the string rings, no hand is near, and sand runs."""
    field = _others(view, place, Looks.RINGING, Looks.STILL)
    field.paste(INK, (58, 1), signs.hourglass(int(at / SWEEP_S) % 4))
    return field


def no_pitch(view: View, place: int | None) -> Image.Image:
    """Plucked, and no pitch came: is the string whole, and does it swing freely?"""
    field = _others(view, place, Looks.BROKEN, Looks.STILL)
    field.paste(INK, (64, 6), signs.question())
    return field


def other_string(view: View, place: int | None, heard: str | None) -> Image.Image:
    """The letter that was heard, over a cross; its string still rings, the hand is at the one to pluck."""
    wrong = view.place(heard)
    looks = [Looks.STILL] * view.count
    if wrong is not None:
        looks[wrong] = Looks.RINGING
    if place is not None:
        looks[place] = Looks.PULLED
    field = fingerboard.strings_over_board(tuple(looks), fingerboard.NARROW).copy()
    if heard is not None:
        field.paste(INK, (3, 0), lettering.letter(heard, *_HEARD, 5.0))
        field.paste(INK, (3, _HEARD[1] + 3), signs.cross(_HEARD[0], 4.5))
    if place is not None:
        fingerboard.put_hand(field, fingerboard.across(place, view.count, fingerboard.NARROW), _AT - 1)
    return field


def several(view: View, now: int | None, left_out: int | None, at: Seconds) -> Image.Image:
    """One after the other, all strings but `left_out`: a ring on each, filled where the hand is `now`.

    Without a `now` the hand goes from one to the next by itself.
    """
    asked = [i for i in range(view.count) if i != left_out]
    if not asked:
        return fingerboard.strings_over_board(()).copy()
    if now is None or now == left_out:
        now = asked[int(at / SWEEP_S) % len(asked)]
    ringing = int(at / PLUCK_S) % 2 == 1
    looks = [Looks.LEFT_OUT if i == left_out else Looks.STILL for i in range(view.count)]
    looks[now] = Looks.RINGING if ringing else Looks.PULLED
    field = fingerboard.strings_over_board(tuple(looks)).copy()
    fingerboard.put_hand(field, fingerboard.across(now, view.count), _AWAY if ringing else _AT)
    for i in range(view.count):
        mark = signs.cross(13, 3.0) if i == left_out else signs.ring(13, filled=i == now)
        left = round(fingerboard.across(i, view.count)) - 6
        field.paste(0, (left, 0, left + 13, 17))
        field.paste(INK, (left, 2), mark)
    return field
