"""What Count shows: the bar on one line, the counting under it, a mark that moves along, and the verdicts.

Everything stands at its moment: so many pixels to a sixteenth, so that the mark passes each note when it is
to be plucked.
"""

from PIL import Image

from device.config.settings import Settings
from device.notation.lengths import Bar, Length, NoteValue, beams, beats, syllables
from device.panel.drawing import signs
from device.panel.drawing.lettering import number, words
from device.panel.drawing.plate import INK, Plate, cached
from device.practice.count.session import CountPhase, CountState
from device.practice.count.timing import Timing
from device.practice.signs import Sign, eighth_rest, flag, head, quarter_rest

LINE = 37  # the row of the rhythm's line
STEM_TOP = 18
LEFT, RIGHT = 18, 122  # columns of the first moment of the bar and of its end
_HEAD_HALF = 5
_VERDICT_TOP, _COUNTING_TOP, _MARK_TOP = 43, 53, 11
_BEAM = 4  # pixels thick


def column(bar: Bar, sixteenths: float) -> int:
    """Where a moment of the bar stands."""
    return LEFT + round((RIGHT - LEFT) * sixteenths / bar.metre.sixteenths)


def draw_count(picture: Image.Image, state: CountState, settings: Settings) -> None:
    """The whole page; a bar that went well is drawn on a lit panel."""
    _above(picture, state, settings)
    draw_bar(picture, state.bar)
    _counting(picture, state)
    if state.place is not None:
        moment = (state.now - state.since) / state.sixteenth_s
        if state.phase is CountPhase.COUNTING_IN:
            moment = max(one for one in beats(state.bar.metre, state.by_eighths) if one <= state.place)
        mark = _mark()
        x = column(state.bar, min(moment, state.bar.metre.sixteenths))
        picture.paste(INK, (x - mark.width // 2, _MARK_TOP), mark)
    if state.phase is CountPhase.TOLD:
        _verdicts(picture, state)


def count_hints(_state: CountState, _settings: Settings) -> tuple[str, str, str] | None:
    """None: the counting lies where the buttons would be named."""
    return None


def count_is_lit(state: CountState) -> bool:
    """Whether the panel is turned over: the bar went well."""
    return state.phase is CountPhase.TOLD and state.judged is not None and state.judged.well


def draw_bar(picture: Image.Image, bar: Bar) -> None:
    """The time signature, the line, every note and rest, and the double bar at the end."""
    picture.paste(INK, (0, LINE, RIGHT + 6, LINE + 1))
    picture.paste(INK, (RIGHT + 1, LINE - 12, RIGHT + 2, LINE + 13))
    picture.paste(INK, (RIGHT + 3, LINE - 12, RIGHT + 6, LINE + 13))
    for text, top in ((str(bar.metre.upper), LINE - 19), (str(bar.metre.lower), LINE + 1)):
        picture.paste(0, (0, top - 1, 13, top + 19))
        picture.paste(INK, (1, top), number(text, 2))
    beamed = {i for group in beams(bar) for i in group}
    for i, (length, start) in enumerate(zip(bar.lengths, bar.starts, strict=True)):
        x = column(bar, start)
        if length.rest:
            _rest(picture, length, x)
        else:
            _note(picture, length, x, flagged=length.value is NoteValue.EIGHTH and i not in beamed)
        if length.dotted:
            picture.paste(INK, (x + _HEAD_HALF + 2, LINE - 5, x + _HEAD_HALF + 5, LINE - 2))
        if length.tied:
            _tie(picture, x, column(bar, bar.starts[i + 1]))
    for group in beams(bar):
        first, last = (column(bar, bar.starts[i]) + _HEAD_HALF for i in (group[0], group[-1]))
        picture.paste(INK, (first - 1, STEM_TOP, last, STEM_TOP + _BEAM))


def _note(picture: Image.Image, length: Length, x: int, *, flagged: bool) -> None:
    whole, half = length.value is NoteValue.WHOLE, length.value is NoteValue.HALF
    shape = head(hollow=half, whole=whole)
    if whole or half:
        picture.paste(0, (x - _HEAD_HALF, LINE - 1, x + _HEAD_HALF, LINE + 2))
    _put(picture, shape, x - _HEAD_HALF)
    if whole:
        return
    picture.paste(INK, (x + _HEAD_HALF - 1, STEM_TOP, x + _HEAD_HALF, LINE))
    if flagged:
        picture.paste(INK, (x + _HEAD_HALF - 1, STEM_TOP), flag())


def _rest(picture: Image.Image, length: Length, x: int) -> None:
    """Half a rest sits on the line, a whole one hangs from it."""
    if length.value is NoteValue.HALF:
        picture.paste(INK, (x - _HEAD_HALF, LINE - 4, x + _HEAD_HALF + 1, LINE))
    elif length.value is NoteValue.WHOLE:
        picture.paste(INK, (x - _HEAD_HALF, LINE + 1, x + _HEAD_HALF + 1, LINE + 5))
    else:
        shape = quarter_rest() if length.value is NoteValue.QUARTER else eighth_rest()
        left = x - shape.mask.width // 2
        picture.paste(0, (left - 1, LINE - shape.row, left + shape.mask.width + 1, LINE + shape.row))
        _put(picture, shape, left)


def _put(picture: Image.Image, shape: Sign, left: int) -> None:
    picture.paste(INK, (left, LINE - shape.row), shape.mask)


def _tie(picture: Image.Image, first: int, second: int) -> None:
    mask = _bow(second - first - 4)
    picture.paste(INK, (first + 2, LINE + 4), mask)


@cached
def _bow(width: int) -> Image.Image:
    """A flat arc that hangs, six pixels deep: a tie."""
    plate = Plate(width, 6)
    points = [(width * i / 12.0, 0.8 + 16.0 * (i / 12.0) * (1.0 - i / 12.0)) for i in range(13)]
    plate.line(points, 1.5)
    return plate.mask()


@cached
def _mark() -> Image.Image:
    """The mark that moves along the bar: a wedge that points down, 11 by 6 pixels."""
    plate = Plate(11, 6)
    plate.area([(0, 0), (11, 0), (5.5, 6)])
    return plate.mask()


def _above(picture: Image.Image, state: CountState, settings: Settings) -> None:
    """The tempo and what is due; while counting in the number of the beat, as large as there is room."""
    if state.phase is CountPhase.COUNTING_IN:
        if state.beat is not None:
            _to_the_right(picture, number(str(state.beat), 2))
        return
    picture.paste(INK, (0, 0), words(f"{state.tempo_bpm} a minute{' (lock)' if settings.locked else ''}"))
    if state.phase is CountPhase.READY:
        _to_the_right(picture, words("pluck"))
    elif state.phase is CountPhase.HIDDEN:
        _to_the_right(picture, words("? next"))
        small = signs.ear(0.4)
        picture.paste(INK, (picture.width - 37 - small.width, 0), small.crop((0, 0, small.width, 17)))


def _to_the_right(picture: Image.Image, mask: Image.Image) -> None:
    picture.paste(INK, (picture.width - mask.width, 0), mask)


def _counting(picture: Image.Image, state: CountState) -> None:
    """The counting under the bar; what is counted just now on a lit ground."""
    place = state.place
    said = syllables(state.bar)
    for i, (moment, word) in enumerate(said):
        mask = words(word)
        x = column(state.bar, moment) - mask.width // 2
        until = said[i + 1][0] if i + 1 < len(said) else state.bar.metre.sixteenths
        now = place is not None and moment <= place < until
        if now:
            picture.paste(INK, (x - 2, _COUNTING_TOP, x + mask.width + 1, picture.height))
        picture.paste(0 if now else INK, (x, _COUNTING_TOP), mask)


def _verdicts(picture: Image.Image, state: CountState) -> None:
    """Under each note how it was met, and above the line where something was too much."""
    if state.judged is None:
        return
    for i, timing in zip(state.bar.plucked, state.judged.timings, strict=True):
        x = column(state.bar, state.bar.starts[i])
        mask = verdict_sign(timing)
        picture.paste(INK, (x - mask.width // 2, _VERDICT_TOP), mask)
    for moment in state.judged.extra_s:
        x = column(state.bar, min(max(moment / state.sixteenth_s, 0.0), state.bar.metre.sixteenths))
        picture.paste(INK, (min(x - 3, picture.width - 7), _MARK_TOP - 1), signs.cross(7, 1.8))


@cached
def verdict_sign(timing: Timing) -> Image.Image:
    """Solid: right. Hollow: missed. Pointing left: too early; right: too late. 9 by 9 pixels."""
    plate = Plate(9, 9)
    if timing in {Timing.RIGHT, Timing.MISSED}:
        plate.box(0, 0, 9, 9)
        if timing is Timing.MISSED:
            plate.box(2, 2, 7, 7, ink=False)
        return plate.mask()
    plate.area([(0, 4.5), (6, 0), (6, 9)])
    plate.box(6, 3, 9, 6)
    mask = plate.mask()
    return mask if timing is Timing.EARLY else mask.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
