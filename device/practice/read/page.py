"""What Read shows: the note on the staff, what was heard beside it, and how ten notes went.

The staff is read at a stand; the letter, the arrow, and the panel that turns over are seen across a room.
"""

from PIL import Image

from device.config.practice_settings import Naming
from device.config.settings import Settings
from device.notation.pitches import Alteration, WrittenPitch, called
from device.notation.staff import CLEFS
from device.panel.drawing import lettering, signs
from device.panel.drawing.lettering import words
from device.panel.drawing.plate import INK, Plate, cached
from device.practice.read.answers import Verdict
from device.practice.read.session import NoteMark, ReadPhase, ReadState
from device.practice.signs import accidental
from device.practice.staff_picture import draw_note, draw_staff, staff_for

STAFF_RIGHT, TELLS_LEFT = 84, 88  # pixels; left of the first the staff, right of the second what is told
_LETTER_WIDE, _LETTER_HIGH, _STROKE = 32, 42, 7.0
_SMALL_WIDE, _SMALL_HIGH, _SMALL_STROKE = 22, 32, 5.0
_UP = {Verdict.GO_UP, Verdict.OCTAVE_UP}
_OCTAVE = {Verdict.OCTAVE_UP, Verdict.OCTAVE_DOWN}
_NEARLY = {Verdict.A_LITTLE_LOW: "low", Verdict.A_LITTLE_HIGH: "high"}


def draw_read(picture: Image.Image, state: ReadState, settings: Settings) -> None:
    """The whole page; right is drawn on a lit panel."""
    if state.phase is ReadPhase.SUMMARY:
        _summary(picture, state)
        return
    _on_staff(picture, state)
    if state.phase is ReadPhase.TOLD and state.answer is not None:
        _told(picture, state, settings)
    elif state.phase is ReadPhase.HIDDEN:
        _hidden(picture)
    elif state.letter:
        _letter(picture, state.asked.pitch, settings.note_names, 0)
    else:
        _place(picture, state)


def read_hints(state: ReadState, _settings: Settings) -> tuple[str, str, str] | None:
    """What next, previous and the third button do, where nothing else lies along the bottom."""
    if state.phase is ReadPhase.SUMMARY:
        return ("more", "more", "more")
    return None


def read_is_lit(state: ReadState) -> bool:
    """Whether the panel is turned over: the note was right."""
    return state.phase is ReadPhase.TOLD and state.answer is not None and state.answer.verdict.good


def _on_staff(picture: Image.Image, state: ReadState) -> None:
    """The note that is asked for, and the one that was heard beside it where it was another."""
    asked = state.asked
    sign = asked.signature.before(asked.pitch)
    clef = CLEFS[state.played.instrument]
    staff = staff_for(clef, asked.pitch, signed=sign is not None, left=0, right=STAFF_RIGHT)
    column = draw_staff(picture, staff, asked.signature)
    column = draw_note(picture, staff, asked.pitch, sign, column + 3)
    answer = state.answer
    if state.phase is ReadPhase.TOLD and answer is not None and not answer.verdict.good:
        sign = asked.signature.before(answer.heard)
        draw_note(picture, staff, answer.heard, sign, column + 2, hollow=True)


def _told(picture: Image.Image, state: ReadState, settings: Settings) -> None:
    assert state.answer is not None
    verdict, pitch = state.answer.verdict, state.asked.pitch
    if verdict.good:
        _letter(picture, pitch, settings.note_names, 0)
        if verdict in _NEARLY:
            _line(picture, "a bit", 42)
            _line(picture, _NEARLY[verdict], 53)
        return
    shown = state.letter
    arrow = _arrow(14, 40) if shown else _arrow(34, 46)
    arrow = arrow if verdict in _UP else arrow.transpose(Image.Transpose.FLIP_TOP_BOTTOM)
    picture.paste(INK, (TELLS_LEFT - 2, 2) if shown else (TELLS_LEFT + 2, 2), arrow)
    if shown:
        _letter(picture, pitch, settings.note_names, 16)
    if verdict in _OCTAVE:
        _line(picture, "octave", 53)


def _hidden(picture: Image.Image) -> None:
    """By ear first: the player decides, then presses next."""
    picture.paste(INK, (TELLS_LEFT + 6, 3), signs.ear())
    _line(picture, "? next", 53)


def _place(picture: Image.Image, state: ReadState) -> None:
    """Which of the ten it is."""
    text = words(f"{len(state.marks) + 1}/10")
    picture.paste(INK, (picture.width - text.width, 0), text)


def _line(picture: Image.Image, text: str, top: int) -> None:
    """A word in the middle of what is told."""
    mask = words(text)
    picture.paste(INK, (TELLS_LEFT + (picture.width - TELLS_LEFT - mask.width) // 2, top), mask)


def _letter(picture: Image.Image, pitch: WrittenPitch, naming: Naming, inset: int) -> None:
    """The note's name, as large as there is room right of `inset`."""
    name, left = called(pitch, naming), TELLS_LEFT + inset
    if naming is Naming.DO_RE_MI:
        _sung(picture, name, pitch, left)
        return
    size = (_SMALL_WIDE, _SMALL_HIGH, _SMALL_STROKE) if inset else (_LETTER_WIDE, _LETTER_HIGH, _STROKE)
    mask = _h(*size) if name[0] == "H" else lettering.letter(name, *size)
    picture.paste(INK, (left + (picture.width - left - mask.width) // 2, 0 if not inset else 6), mask)


def _sung(picture: Image.Image, name: str, pitch: WrittenPitch, left: int) -> None:
    """A sung name in words, its sign beneath."""
    mask = words(name.rstrip("#b"), 2 if left == TELLS_LEFT else 1)
    picture.paste(INK, (left + max(picture.width - left - mask.width, 0) // 2, 2), mask)
    if pitch.alteration is not Alteration.NATURAL:
        sign = accidental(pitch.alteration).mask
        picture.paste(INK, (left + (picture.width - left - sign.width) // 2, 26), sign)


@cached
def _h(width: int, height: int, stroke: float) -> Image.Image:
    """The letter H, which no string is called."""
    plate = Plate(width, height)
    plate.box(0, 0, stroke, height)
    plate.box(width - stroke, 0, width, height)
    plate.box(0, (height - stroke) / 2, width, (height + stroke) / 2)
    return plate.mask()


@cached
def _arrow(width: int, height: int) -> Image.Image:
    """Up: play higher."""
    plate, middle, third = Plate(width, height), width / 2.0, width / 6.0
    top = min(width * 0.62, height * 0.5)
    plate.area([(middle, 0), (width, top), (0, top)])
    plate.box(middle - third, top - 1, middle + third, height)
    return plate.mask()


_BOX, _GAP, _ROW = 17, 7, 20  # pixels


def _summary(picture: Image.Image, state: ReadState) -> None:
    """Ten boxes: solid right at once, half filled later, hollow passed over; a notch: a little off."""
    right = sum(mark in {NoteMark.RIGHT, NoteMark.TOLD} for mark in state.marks)
    picture.paste(INK, (0, 0), words(f"{right} of {len(state.marks)} at once"))
    left = (picture.width - 5 * _BOX - 4 * _GAP) // 2
    for i, mark in enumerate(state.marks):
        x, y = left + (i % 5) * (_BOX + _GAP), 13 + (i // 5) * _ROW
        _box(picture, x, y, mark)


def _box(picture: Image.Image, x: int, y: int, mark: NoteMark) -> None:
    picture.paste(INK, (x, y, x + _BOX, y + _BOX))
    if mark is NoteMark.LEFT:
        picture.paste(0, (x + 2, y + 2, x + _BOX - 2, y + _BOX - 2))
    elif mark is NoteMark.LATER:
        picture.paste(0, (x + 2, y + 2, x + _BOX - 2, y + _BOX // 2))
    elif mark is NoteMark.TOLD:
        picture.paste(0, (x + 6, y + 6, x + _BOX - 6, y + _BOX - 6))
