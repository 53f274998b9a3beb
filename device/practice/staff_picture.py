"""Five lines with a clef, a signature and notes, drawn where they belong."""

from dataclasses import dataclass

from PIL import Image, ImageFilter

from device.notation.pitches import Alteration, WrittenPitch
from device.notation.staff import LINES, Clef, Signature, ledger_lines
from device.panel.drawing.plate import INK, cached
from device.practice.signs import SPACE, accidental, clef_line, clef_sign, head

STEM = 20  # pixels: an octave less a little, as engraved
_HEAD_WIDE = 10
_SIGNATURE_STEP = 8  # pixels from one sign of a signature to the next
_HIGHEST_ROW, _LOWEST_ROW = 3, 60  # where a head still lies whole on the panel
_HIGHEST_SIGNED, _LOWEST_SIGNED = 11, 55  # and where a sharp, flat or natural does


@dataclass(frozen=True, slots=True)
class StaffPlace:
    """A staff on the picture."""

    clef: Clef
    left: int
    right: int
    bottom: int  # the row of its lowest line

    def row(self, position: int) -> int:
        """The row of a line or the middle of a space."""
        return self.bottom - position * SPACE // 2


def staff_for(clef: Clef, note: WrittenPitch, *, signed: bool, left: int, right: int) -> StaffPlace:
    """A staff in the middle of the panel, moved up or down only where the note would not lie on it."""
    usual = {Clef.TREBLE: 45, Clef.ALTO: 47, Clef.BASS: 46}[clef]
    highest, lowest = (_HIGHEST_SIGNED, _LOWEST_SIGNED) if signed else (_HIGHEST_ROW, _LOWEST_ROW)
    down = clef.position(note) * SPACE // 2
    return StaffPlace(clef, left, right, min(max(usual, highest + down), lowest + down))


def draw_staff(picture: Image.Image, staff: StaffPlace, signature: Signature) -> int:
    """Lines, clef and signature; the column after them."""
    for position in LINES:
        y = staff.row(position)
        picture.paste(INK, (staff.left, y, staff.right, y + 1))
    clef = clef_sign(staff.clef)
    picture.paste(INK, (staff.left + 1, staff.row(clef_line(staff.clef)) - clef.row), clef.mask)
    column = staff.left + clef.mask.width + 3
    for position in signature.positions(staff.clef):
        _draw_accidental(picture, staff, signature.sign, position, column)
        column += _SIGNATURE_STEP
    return column + 2


def draw_note(  # noqa: PLR0913 - a note on a staff on a picture
    picture: Image.Image,
    staff: StaffPlace,
    pitch: WrittenPitch,
    sign: Alteration | None,
    column: int,
    *,
    hollow: bool = False,
) -> int:
    """A note with its ledger lines, stem, and the sign before it; the column after it."""
    if sign is not None:
        _draw_accidental(picture, staff, sign, staff.clef.position(pitch), column)
        column += _SIGNATURE_STEP
    position = staff.clef.position(pitch)
    for line in ledger_lines(position):
        y = staff.row(line)
        picture.paste(INK, (column - 2, y, column + _HEAD_WIDE + 2, y + 1))
    shape, y = head(hollow=hollow), staff.row(position)
    if hollow:
        picture.paste(0, (column, y - shape.row), head().mask)
    picture.paste(INK, (column, y - shape.row), shape.mask)
    if position < 4:
        picture.paste(INK, (column + _HEAD_WIDE - 1, y - STEM, column + _HEAD_WIDE, y))
    else:
        picture.paste(INK, (column, y, column + 1, y + STEM))
    return column + _HEAD_WIDE + 2


def _draw_accidental(
    picture: Image.Image, staff: StaffPlace, sign: Alteration, position: int, column: int
) -> None:
    """A sign with a dark rim, so that the lines of the staff do not run into it."""
    shape = accidental(sign)
    rim = _rim(sign)
    top = staff.row(position) - shape.row
    picture.paste(0, (column - 1, top - 1), rim)
    picture.paste(INK, (column, top), shape.mask)


@cached
def _rim(sign: Alteration) -> Image.Image:
    """The shape of a sign, one pixel larger all round."""
    mask = accidental(sign).mask
    larger = Image.new("L", (mask.width + 2, mask.height + 2))
    larger.paste(INK, (1, 1), mask)
    return larger.filter(ImageFilter.MaxFilter(3)).convert("1", dither=Image.Dither.NONE)
