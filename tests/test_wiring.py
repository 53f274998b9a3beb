"""The wiring page, against the table of the board's header that gpiozero carries (its `PiBoardInfo`)."""

import re
from pathlib import Path

import pytest

from device.config.hardware import ButtonHardware

pins = pytest.importorskip("gpiozero.pins.pi", reason="the board's pin library is not installed")

ZERO_2_W = 0x902120  # the board's revision code, as in /proc/cpuinfo
HEADER = pins.PiBoardInfo.from_revision(ZERO_2_W).headers["J8"].pins
BUILDING = (Path(__file__).parent.parent / "systemd" / "README.md").read_text()
WIRING = BUILDING[BUILDING.index("**Wiring**") : BUILDING.index("**Enclosure")]
OURS = r"(3\.3 V|5 V|GND|GPIO\d+)"


def name(pin: str) -> str:
    """What the header has there, as the page writes it."""
    return HEADER[int(pin)].name.replace("3V3", "3.3 V").replace("5V", "5 V")


def test_every_pin_is_called_what_it_is():
    tabled = re.findall(rf"\b(\d+) \({OURS}\)", WIRING)
    left = re.findall(rf"─ +(\d+)  {OURS}", WIRING)  # of the drawing
    right = [(pin, what) for what, pin in re.findall(rf"{OURS}  +(\d+) ─", WIRING)]
    assert len(tabled) >= 6
    wrong = [(pin, what) for pin, what in (*tabled, *left, *right) if name(pin) != what]
    assert wrong == []


def test_each_button_is_on_its_usual_pin_and_on_ground():
    rows = re.findall(r"\| button (\w+)[^|]*\| \d+ \(GPIO(\d+)\), (\d+) \|", WIRING)
    usual = {button.value: pin for button, pin in ButtonHardware().pins.items()}
    assert {button: int(pin) for button, pin, _ in rows} == usual
    assert {name(ground) for _, _, ground in rows} == {"GND"}


def test_the_panel_is_on_the_bus_and_an_i2s_microphone_on_the_boards_digital_sound():
    bus = re.search(r"SDA / SCL \| (\d+) \(GPIO2\) / (\d+) \(GPIO3\)", WIRING)
    sound = re.search(r"BCLK / LRCLK / DOUT \| (\d+) / (\d+) / (\d+)", WIRING)
    assert bus
    assert sound
    assert all("i2c" in HEADER[int(pin)].interfaces for pin in bus.groups())
    assert all("pcm" in HEADER[int(pin)].interfaces for pin in sound.groups())
    # PCM_CLK, PCM_FS, PCM_DIN: BCM2835 ARM Peripherals, section 6.2, alternative function 0
    assert [name(pin) for pin in sound.groups()] == ["GPIO18", "GPIO19", "GPIO20"]
