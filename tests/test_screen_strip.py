"""The strip along the bottom and the bead: what is known, as fine as it is known."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageChops

from device.config.settings import Settings, Tone
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Say
from device.lesson.state import Mark, Phase
from device.panel.drawing import key_caps
from device.panel.drawing.lettering import words
from device.panel.drawing.string_strip import instrument_and_pitch, shown_cents
from device.panel.drawing.track import height_of, track
from device.panel.screen import WIDTH, draw
from dsp import Cents, Hz, Instrument, Seconds
from tests.each import each
from tests.scenes import FIVE, SCORDATURA, VIOLIN, lesson, turn
from tests.showing import ADVICE, BEGIN, TURNS, all_different

ENDS = {Say.RIGHT, Say.ALL_RIGHT, Say.STAYS_OFF}


WITH_A_STRIP = TURNS + tuple(advice for say, advice in ADVICE.items() if say not in ENDS)


@pytest.mark.parametrize("advice", WITH_A_STRIP, ids=lambda advice: advice.say.value)
@pytest.mark.parametrize("box", [VIOLIN, FIVE, SCORDATURA])
def test_words_and_cents_stand_clear_of_the_boxes(advice, box):
    advice = replace(advice, heard="Bb3" if advice.heard else None, away=False)
    shown = lesson(next(iter(box.targets)), advice, -213.0, settings=box)
    bare = lesson(next(iter(box.targets)), advice, None, settings=box)
    for at in (0.0, 1.5, 3.0, 4.5):
        for one in (shown, bare):
            assert draw(one.scene, Seconds(at)).crop((57, 53, 59, 64)).getbbox() is None


@pytest.mark.parametrize("hz", [392.0, 440.0, 441.5, 466.16])
def test_instrument_and_pitch_stand_clear_of_each_other(hz):
    for instrument in each(Instrument):
        box = Settings(instrument, reference_hz=Hz(hz))
        name, pitch = (words(text) for text in instrument_and_pitch(box))
        assert 60 + name.width < WIDTH - 1 - pitch.width


def test_every_mark_and_place_in_the_strip_looks_different():
    boxes = {}
    for mark in Mark:
        for now in ("G3", "E5"):
            picture = draw(lesson(now, marks=(mark, *(Mark.TO_DO,) * 3)).scene, BEGIN)
            boxes[f"{mark.value} {now}"] = {picture.crop((0, 53, 15, 64)).tobytes()}
    all_different(boxes)


def test_half_filled_is_half_filled():
    def filled(mark: Mark) -> int:
        picture = draw(lesson("E5", marks=(mark, *(Mark.TO_DO,) * 3)).scene, BEGIN)
        return sum(picture.crop((6, 55, 11, 59)).histogram()[1:])

    assert filled(Mark.TO_DO) == 0 < filled(Mark.DRIFTED) < filled(Mark.RIGHT) == 20
    assert 0.4 < filled(Mark.DRIFTED) / filled(Mark.RIGHT) < 0.7


@pytest.mark.parametrize("amount", list(Amount))
def test_cents_that_are_not_known_are_not_shown_as_a_number(amount):
    known = turn("A4", TuningPart.FINE_TUNER, Direction.TIGHTEN, amount, 0.0)
    coach = replace(known.scene.coach, cents=None, std_error_cents=None)
    unknown = draw(replace(known.scene, coach=coach), BEGIN)
    figures = (62, 53, 128, 64)
    assert unknown.crop(figures).getbbox() is None
    assert draw(known.scene, BEGIN).crop(figures).getbbox() is not None
    assert shown_cents(None, Cents(0.1)) is None


@given(st.floats(-300.0, 300.0), st.floats(1.01, 50.0))
def test_an_unsure_reading_never_claims_zero(cents, error):
    assert shown_cents(Cents(cents), Cents(error)) != "+0"


def test_the_number_is_as_fine_as_the_reading_is_sure():
    seen = [shown_cents(Cents(-12.6), Cents(error)) for error in (9.0, 3.0, 0.4)]
    assert seen == ["-10", "-15", "-13"]


@given(st.floats(-2000.0, 2000.0), st.floats(-2000.0, 2000.0))
def test_the_sharper_the_string_the_higher_the_bead(one, other):
    flat, sharp = sorted((one, other))
    assert -20 <= height_of(flat) <= height_of(sharp) <= 20


def test_the_bead_hangs_under_the_gate_when_flat_and_floats_over_it_when_sharp():
    empty = track(None, None, Cents(8.0))

    def bead(cents: float) -> tuple[int, int, int, int]:
        box = ImageChops.difference(track(Cents(cents), Cents(0.3), Cents(8.0)), empty).getbbox()
        assert box is not None
        return box

    gate = [y for y in range(52) if empty.getpixel((1, y))]
    assert bead(-45.0)[1] > max(gate)
    assert bead(45.0)[3] <= min(gate)
    assert min(gate) < bead(0.0)[1] < bead(0.0)[3] < max(gate)


def test_an_unsure_bead_is_taller_and_settles():
    def ink(error: float) -> int:
        return sum(track(Cents(-40.0), Cents(error), Cents(8.0)).histogram()[1:])

    sizes = [ink(error) for error in (8.0, 4.0, 2.0, 0.5)]
    assert sizes == sorted(sizes, reverse=True)
    assert len(set(sizes)) > 2


def test_what_is_not_as_in_the_file_is_turned_over_while_waiting():
    usual = lesson("A4", phase=Phase.WAITING).scene
    places = {"instrument": (66, 106), "size": (66, 106), "cores": (66, 106), "reference_hz": (108, 128)}
    for key, columns in each(places.items()):
        odd = draw(replace(usual, unusual=frozenset({key})), BEGIN).crop((columns[0], 53, columns[1], 64))
        plain = draw(usual, BEGIN).crop((columns[0], 53, columns[1], 64))
        assert sum(odd.histogram()[1:]) > 1.5 * sum(plain.histogram()[1:])


def test_a_pluck_that_is_not_followed_says_so_even_beside_a_turn():
    shown = turn("A4", TuningPart.FINE_TUNER, Direction.TIGHTEN, Amount.A_LITTLE, -20.0).scene
    said = {draw(replace(shown, unfollowed=True), Seconds(0.5 * i)).tobytes() for i in range(8)}
    assert len(said) == 1
    assert draw(shown, BEGIN).tobytes() not in said


def test_whoever_waits_is_told_what_the_buttons_do_and_then_what_is_set_again():
    quiet = lesson("A4", phase=Phase.WAITING).scene
    strips = [draw(quiet, Seconds(0.5 + i)).crop((0, 53, 128, 64)).tobytes() for i in range(24)]
    assert strips[:12] == strips[12:]
    set_up, press, hold = strips[0], strips[6], strips[9]
    assert strips[:12] == [set_up] * 6 + [press] * 3 + [hold] * 3
    assert len({set_up, press, hold}) == 3


def test_what_the_third_button_sounds_and_a_lock_are_told():
    tones = {key_caps.presses(Settings(tone=tone)) for tone in Tone}
    assert len(tones) == len(Tone)
    assert key_caps.holds(Settings(locked=True)) == ("lock", "lock", "begin")
    assert key_caps.holds(Settings()) == ("swap", "set", "begin")


def test_after_a_pluck_the_strip_is_the_lessons_again():
    heard = lesson("A4", phase=Phase.LISTENING).scene
    strips = {draw(heard, Seconds(0.5 + i)).crop((0, 53, 60, 64)).tobytes() for i in range(24)}
    assert len(strips) == 1
