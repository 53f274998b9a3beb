"""The buttons on gpiozero's mock pins. What they cannot show: contacts that bounce."""

import pytest

from device.errors import PartError
from device.events import Button

pytest.importorskip("gpiozero", reason="the board's pin library is not installed")

from gpiozero.pins.mock import MockFactory

from device.parts.buttons import GpioButtons, lgpio_factory

PINS = {Button.NEXT: 17, Button.PREVIOUS: 27, Button.TONE: 22}


@pytest.fixture
def factory():
    mock = MockFactory()
    yield mock
    mock.reset()


def test_a_button_that_pulls_its_pin_to_ground_is_down(factory):
    buttons = GpioButtons(PINS, factory)
    assert buttons.down() == []
    factory.pin(27).drive_low()
    assert buttons.down() == [Button.PREVIOUS]
    factory.pin(22).drive_low()
    assert buttons.down() == [Button.PREVIOUS, Button.TONE]
    factory.pin(27).drive_high()
    assert buttons.down() == [Button.TONE]


def test_pins_are_held_up_by_their_own_resistors(factory):
    GpioButtons(PINS, factory)
    assert {factory.pin(pin).pull for pin in PINS.values()} == {"up"}


def test_two_buttons_on_one_pin_are_refused_and_the_pins_are_let_go(factory):
    with pytest.raises(PartError, match="cannot be read"):
        GpioButtons({Button.NEXT: 17, Button.TONE: 17}, factory)
    GpioButtons(PINS, factory)


def test_closing_twice_lets_the_pins_go(factory):
    buttons = GpioButtons(PINS, factory)
    buttons.close()
    buttons.close()
    GpioButtons(PINS, factory)


def test_without_a_board_there_is_one_sentence_and_no_other_driver(monkeypatch, tmp_path):
    monkeypatch.setenv("LG_WD", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    with pytest.raises(PartError, match=r"GPIO pins do not answer|driver is missing"):
        lgpio_factory()
