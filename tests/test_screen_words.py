"""Everything that can be said, chosen or broken looks different, and any of it can be drawn."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from device.config.settings import Order, Settings
from device.controls.menu_pages import PAGES
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.state import Coach, Mark, Phase, StringState
from device.panel.drawing import setting_signs
from device.panel.scene import Fault, Scene
from device.panel.screen import draw
from dsp import Instrument, Seconds
from tests.scenes import BASS, CELLO, FIVE, SCORDATURA, VIOLIN, Shown, lesson, turn
from tests.showing import ADVICE, BEGIN, MENU, all_different, drawn


def over_time(shown: Shown) -> set[bytes]:
    return {drawn(shown, 0.1 * i) for i in range(60)}


def test_everything_that_can_be_said_looks_different():
    told = {say.value: over_time(lesson("A4", advice)) for say, advice in ADVICE.items()}
    turns = {
        say.value: over_time(turn("A4", TuningPart.PEG, Direction.LOOSEN, Amount.A_LITTLE, 40.0, say=say))
        for say in Say
        if say not in ADVICE
    }
    alarms = {alarm.value: over_time(lesson("A4", Advice(warning=alarm))) for alarm in Alarm}
    plain = lesson("A4", phase=Phase.WAITING).scene
    faults = {fault.value: over_time(Shown(replace(plain, fault=fault))) for fault in Fault}
    others = {
        "waiting": over_time(Shown(plain)),
        "listening": over_time(lesson("A4", phase=Phase.LISTENING)),
        "menu": over_time(Shown(replace(plain, menu=MENU))),
        "resting": over_time(Shown(replace(plain, resting=True))),
        "sounding": over_time(Shown(replace(plain, sounding="A4"))),
        "by ear": over_time(Shown(replace(plain, by_ear=True))),
        "not followed": over_time(Shown(replace(plain, unfollowed=True))),
    }
    assert len(told) + len(turns) == len(Say)
    all_different(told | turns | alarms | faults | others)


def test_every_page_of_the_settings_has_a_sign_of_its_own():
    plain = {page.key: setting_signs.sign(page.key, VIOLIN) for page in PAGES}
    assert all(sign is not None for sign in plain.values())
    all_different({key: {sign.tobytes()} for key, sign in plain.items()})


@pytest.mark.parametrize(
    "key", ["instrument", "size", "temperament", "fine_tuners", "pegs", "left_handed", "string_set", "cores"]
)
def test_a_sign_follows_what_is_chosen(key):
    page = next(page for page in PAGES if page.key == key)
    signs = {str(v): {setting_signs.sign(key, replace(VIOLIN, **{key: v})).tobytes()} for v in page.values}
    all_different(signs)


def test_every_order_is_numbered_in_its_own_way():
    signs = {o.value: {setting_signs.sign("order", Settings(order=o)).tobytes()} for o in Order}
    all_different(signs)


COACHES = st.builds(
    Coach,
    phase=st.sampled_from(Phase),
    string=st.sampled_from(["A4", "G3", "C2", "Bb3", "F#4"]),
    since=st.just(BEGIN),
    strings=st.lists(
        st.builds(
            StringState,
            name=st.sampled_from(["G3", "D4", "A4", "E5", "C2", "Bb3"]),
            mark=st.sampled_from(Mark),
            first_cents=st.none() | st.floats(-2000.0, 2000.0),
            last_cents=st.none() | st.floats(-2000.0, 2000.0),
        ),
        max_size=6,
    ).map(tuple),
    cents=st.none() | st.floats(-3000.0, 3000.0),
    std_error_cents=st.none() | st.floats(0.0, 100.0),
    advice=st.builds(
        Advice,
        say=st.sampled_from(Say),
        turn=st.sampled_from(TuningPart),
        string=st.none() | st.sampled_from(["A4", "E5", "C2"]),
        direction=st.sampled_from(Direction),
        rotation=st.none() | st.sampled_from(Rotation),
        amount=st.none() | st.sampled_from(Amount),
        push_in=st.booleans(),
        heard=st.none() | st.sampled_from(["D4", "E1"]),
        warning=st.none() | st.sampled_from(Alarm),
    ),
)


@settings(deadline=None, max_examples=300)
@given(
    COACHES,
    st.sampled_from([VIOLIN, CELLO, BASS, FIVE, SCORDATURA, Settings(Instrument.VIOLA, left_handed=True)]),
    st.floats(0.0, 1e6),
)
def test_any_lesson_can_be_drawn(coach, box, at):
    picture = draw(Scene(box, coach), Seconds(at))
    assert (picture.mode, picture.size) == ("1", (128, 64))
