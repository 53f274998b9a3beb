"""What a child must see from two metres, measured on the pictures themselves.

A seven-year-old reads about 20 minutes of arc without effort (common practice; the design's figure),
12 mm or 27 pixels of a 2.4-inch panel at two metres. Nothing here asks the drawing code where it put
a thing: shapes are found again in the picture as patches of touching lit pixels.
"""

import pytest

from device.instrument.tuning_parts import Amount, Direction, TuningPart
from tests.each import each
from tests.patches import (
    BOTH_WAYS,
    LETTER,
    head_and_arrows,
    named,
    patches,
    pegbox,
    picture_of,
    screw_and_arrow,
)
from tests.scenes import BASS, CELLO, FIVE, LEFT_HANDED, PICTURES, SCORDATURA, VIOLA, VIOLIN, turn

LETTER_HIGH, ARROW_HIGH, TURNED_HIGH = 40, 40, 27  # pixels


ends = pytest.mark.parametrize("direction", [Direction.TIGHTEN, Direction.LOOSEN])


@pytest.mark.parametrize(
    "name",
    [n for n, s in PICTURES.items() if n.startswith(("say-", "flat", "sharp", "peg", "bass", "retuned"))],
)
def test_the_letter_is_40_pixels_high(name):
    corner = picture_of(PICTURES[name]).crop(LETTER)
    if corner.getpixel((0, 0)) and corner.getpixel((28, 51)):  # turned over: the wrong peg's letter
        corner = corner.point(lambda ink: 0 if ink else 255, "1")
    box = corner.getbbox()
    assert box is not None
    assert box[3] - box[1] >= LETTER_HIGH


@pytest.mark.parametrize("box", [VIOLIN, VIOLA, CELLO, FIVE, SCORDATURA, LEFT_HANDED], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_fine_tuner_is_27_and_its_arrow_40_pixels_high(box, direction, amount):
    for string in each(box.targets):
        screw, arrow = screw_and_arrow(
            picture_of(turn(string, TuningPart.FINE_TUNER, direction, amount, -20.0, settings=box))
        )
        assert screw.size[1] >= TURNED_HIGH
        assert arrow.size[1] >= ARROW_HIGH, f"{string} {direction} {amount}: {arrow.size}"


@pytest.mark.parametrize("box", [VIOLIN, CELLO], ids=named)
@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_pegbox_is_27_and_its_arrows_together_40_pixels_high(box, direction, amount):
    for string in each(box.targets):
        picture = picture_of(turn(string, TuningPart.PEG, direction, amount, -120.0, settings=box))
        _, arrows = head_and_arrows(picture)
        assert pegbox(picture).size[1] >= TURNED_HIGH
        assert arrows[1].box[3] - arrows[0].box[1] >= ARROW_HIGH


@pytest.mark.parametrize(("direction", "amount"), BOTH_WAYS)
def test_a_machine_head_has_an_arrow_40_pixels_high_that_points_up_to_tighten(direction, amount):
    picture = picture_of(turn("A1", TuningPart.PEG, direction, amount, -20.0, settings=BASS))
    arrow = max(patches(picture, (80, 0, 128, 52)), key=lambda patch: patch.size[1])
    assert arrow.size[1] >= ARROW_HIGH
    tip_rows = {y: sum(1 for x, row in arrow.pixels if row == y) for y in (arrow.box[1], arrow.box[3] - 1)}
    assert (tip_rows[arrow.box[1]] < tip_rows[arrow.box[3] - 1]) is (direction is Direction.TIGHTEN)


@pytest.mark.parametrize("what", [TuningPart.FINE_TUNER, TuningPart.PEG])
@ends
def test_more_is_a_longer_arrow_than_a_little_and_that_than_a_hair(what, direction):
    sizes = []
    for amount in (Amount.A_HAIR, Amount.A_LITTLE, Amount.MORE):
        picture = picture_of(turn("A4", what, direction, amount, -20.0))
        arrows = head_and_arrows(picture)[1] if what is TuningPart.PEG else [screw_and_arrow(picture)[1]]
        sizes.append(sum(len(arrow.pixels) for arrow in arrows))
    assert sizes[0] * 1.25 < sizes[1] < sizes[2] / 1.25
