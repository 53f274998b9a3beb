"""A sign for every page of the settings, drawn from what is set, so that one need not read."""

from collections.abc import Callable

from PIL import Image

from device.config.settings import Cores, Order, Settings, Size, StringSet, Tone
from device.lesson.plan import order_of
from device.panel.drawing import icons, lettering, people, setting_shapes, signs, track
from device.panel.drawing.lettering import number
from device.panel.drawing.plate import INK
from device.practice import setting_pictures
from dsp import Instrument, Temperament

WIDTH, HEIGHT = setting_shapes.WIDTH, setting_shapes.HEIGHT
_FAMILY_HIGH = dict(zip(Instrument, (26, 30, 34, 38), strict=True))  # pixels, violin to double bass
_SIZE_HIGH = dict(zip(Size, (38, 16, 19, 22, 25, 29, 33, 38), strict=True))


def _middle(mask: Image.Image) -> Image.Image:
    """A mask in the middle of the sign."""
    sign = Image.new("1", (WIDTH, HEIGHT))
    sign.paste(INK, ((WIDTH - mask.width) // 2, (HEIGHT - mask.height) // 2), mask)
    return sign


def _on_the_ground(mask: Image.Image) -> Image.Image:
    sign = Image.new("1", (WIDTH, HEIGHT))
    sign.paste(INK, ((WIDTH - mask.width) // 2, HEIGHT - mask.height), mask)
    return sign


def _in_a_row(masks: list[Image.Image]) -> Image.Image:
    """Masks from left to right, each in its share of the width."""
    sign, share = Image.new("1", (WIDTH, HEIGHT)), WIDTH / len(masks)
    for i, mask in enumerate(masks):
        sign.paste(INK, (round(share * (i + 0.5) - mask.width / 2), (HEIGHT - mask.height) // 2), mask)
    return sign


def _order(settings: Settings) -> Image.Image:
    """The boxes of the strip, low to high, each with its turn; a question when any may come."""
    asked = order_of(settings)
    turns = [str(asked.index(name) + 1) if name in asked else "?" for name in settings.targets]
    if settings.order is Order.WHICHEVER_IS_PLUCKED:
        turns = ["?"] * len(turns)
    return _in_a_row([number(turn) for turn in turns])


def _tolerance(settings: Settings) -> Image.Image:
    """The gate as wide as what counts as right."""
    return _middle(track.track(None, None, settings.tolerance.cents).crop((0, 7, track.WIDTH, 45)))


def _upside_down(settings: Settings) -> Image.Image:
    letter = lettering.letter("A", 24, 34, 7.0)
    return _middle(letter.transpose(Image.Transpose.ROTATE_180) if settings.upside_down else letter)


def _temperament(settings: Settings) -> Image.Image:
    equal = settings.temperament is Temperament.EQUAL
    return setting_shapes.keyboard() if equal else setting_shapes.two_ringing()


def _size(settings: Settings) -> Image.Image:
    if settings.size is Size.UNKNOWN:
        return _middle(signs.question())
    return _on_the_ground(icons.bowed_instrument(_SIZE_HIGH[settings.size]))


def _cores(settings: Settings) -> Image.Image:
    sign = _middle(setting_shapes.wound_string(settings.cores))
    if settings.cores is Cores.UNKNOWN:
        sign.paste(INK, (27, 10), number("?", 2))
    return sign


def _hand(settings: Settings) -> Image.Image:
    hand = people.plucking()
    return _middle(hand.transpose(Image.Transpose.FLIP_LEFT_RIGHT) if settings.left_handed else hand)


def _tone(settings: Settings) -> Image.Image:
    fifth = settings.tone is Tone.FIFTH
    return _in_a_row([icons.loudspeaker(0.7), signs.waves(count=3 if fifth else 2)])


def _loudness(settings: Settings) -> Image.Image:
    count = 1 + round((settings.tone_dbfs + 40.0) / 14.0)  # one wave at -40 dBFS, three at -12
    return _in_a_row([icons.loudspeaker(0.7), signs.waves(count=count)])


_SIGNS: dict[str, Callable[[Settings], Image.Image]] = {
    "instrument": lambda s: _on_the_ground(icons.bowed_instrument(_FAMILY_HIGH[s.instrument])),
    "size": _size,
    "reference_hz": lambda _: _middle(icons.tuning_fork(0.66)),
    "temperament": _temperament,
    "cores": _cores,
    "fine_tuners": lambda s: setting_shapes.screws(s.fine_tuners),
    "pegs": lambda s: setting_shapes.kind_of_peg(s.pegs),
    "left_handed": _hand,
    "string_set": lambda s: _in_a_row(
        [lettering.letter("E", 16, 26, 5.0), setting_shapes.string(s.string_set is StringSet.PLAIN_GUT_E)]
    ),
    "tolerance": _tolerance,
    "pegs_by_grown_up": lambda s: _in_a_row(
        [people.tall_one(16, 38)]
        if s.pegs_by_grown_up
        else [people.tall_one(16, 38), people.tall_one(12, 26)]
    ),
    "order": _order,
    "move_on": lambda s: setting_shapes.forward(s.move_on),
    "by_ear": lambda _: _middle(signs.ear(0.84)),
    "tone": _tone,
    "tone_dbfs": _loudness,
    "brightness_percent": lambda s: setting_shapes.sun(float(s.brightness_percent)),
    "upside_down": _upside_down,
    "rest_minutes": lambda _: _middle(signs.moon()),
    "hold_s": lambda _: setting_shapes.button(1),
    "chord_s": lambda _: setting_shapes.button(2),
    "locked": lambda s: setting_shapes.padlock(s.locked),
    "note_names": lambda s: setting_pictures.names_picture(s.note_names),
    "steps_move": lambda s: setting_pictures.step_picture(s.steps_move),
    "read_step": lambda s: setting_pictures.read_picture(s.read_step),
    "count_step": lambda s: setting_pictures.count_picture(s.count_step),
    "tempo_bpm": lambda s: setting_pictures.tempo_picture(s.tempo_bpm),
    "six_eight_by_eighths": lambda s: setting_pictures.six_eight_picture(s.six_eight_by_eighths),
    "from-file": lambda _: _middle(icons.page(zoom=0.74)),
}


def sign(key: str, settings: Settings) -> Image.Image | None:
    """The sign of a page, 42 by 38 pixels; None for a key that has none."""
    return _SIGNS[key](settings) if key in _SIGNS else None
