"""Buttons that are looked at in the background: every look is kept, with its time."""

import threading

import pytest

from device.errors import PartError
from device.events import Button
from device.parts.button_sampler import SampledButtons
from device.ports import RemembersLevels
from tests.stand_ins import SteppedClock, ToldButtons


class CountingButtons(ToldButtons):
    """Tells when it was looked at so often, and from which thread; fails when told to."""

    def __init__(self):
        super().__init__()
        self.looks, self.often, self.threads, self.fails = 0, threading.Event(), set(), False

    def down(self):
        if self.fails:
            raise PartError("the buttons cannot be read (unplugged)")
        self.looks += 1
        self.threads.add(threading.get_ident())
        if self.looks > 5:
            self.often.set()
        return super().down()


def test_every_look_is_handed_over_once_oldest_first():
    clock, told = SteppedClock(), ToldButtons()
    buttons = SampledButtons(told, clock.now, pace_s=None)
    assert isinstance(buttons, RemembersLevels)
    for pressed in ([Button.NEXT], []):
        clock.sleep(0.01)
        told.pressed = pressed
        buttons.look()
    assert buttons.sampled() == [(0.0, ()), (0.01, (Button.NEXT,)), (0.02, ())]
    assert buttons.sampled() == []
    assert buttons.down() == ()


def test_it_looks_by_itself_while_nobody_asks():
    told = CountingButtons()
    buttons = SampledButtons(told)
    assert told.often.wait(60.0)
    assert len(told.threads) == 2  # the first look is the caller's own
    assert len(buttons.sampled()) > 5
    buttons.close()
    assert told.threads.isdisjoint(thread.ident for thread in threading.enumerate()[1:])


def test_what_fails_in_the_background_is_told_when_asked():
    told = CountingButtons()
    buttons = SampledButtons(told)
    told.fails = True
    buttons._thread.join(60.0)  # it ends by itself
    with pytest.raises(PartError, match="unplugged"):
        buttons.down()
    buttons.close()


def test_buttons_that_cannot_be_read_at_the_start_are_no_buttons():
    told = CountingButtons()
    told.fails = True
    with pytest.raises(PartError, match="unplugged"):
        SampledButtons(told)


def test_looks_nobody_fetches_are_bounded():
    buttons = SampledButtons(ToldButtons(), SteppedClock().now, pace_s=None)
    for _ in range(3010):
        buttons.look()
    assert len(buttons.sampled()) == 3000  # half a minute, at a hundred a second


def test_closing_twice_is_allowed():
    buttons = SampledButtons(ToldButtons())
    buttons.close()
    buttons.close()


def test_the_thread_that_looks_does_not_keep_the_program_from_ending_and_ends_with_the_buttons():
    before = set(threading.enumerate())
    buttons = SampledButtons(ToldButtons())
    (looking,) = set(threading.enumerate()) - before
    assert looking.daemon
    buttons.close()
    assert not looking.is_alive()
