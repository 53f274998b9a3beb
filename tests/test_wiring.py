"""The builder's page: its wiring against the board's header as gpiozero carries it (its `PiBoardInfo`),
its drawing and its label against what the box needs.
"""

import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from device.config.hardware import ButtonHardware, ControllerName

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


DRAWING = ET.parse(Path(__file__).parent.parent / "systemd" / "front.svg").getroot()


def drawn(name: str, *keys: str) -> tuple[float, ...]:
    """Measures of one shape of the drilling drawing, in mm."""
    (shape,) = [element for element in DRAWING.iter() if element.get("id") == name]
    return tuple(float(shape.get(key, "nan")) for key in keys)


def test_the_drawing_is_to_scale_and_its_holes_lie_apart_inside_the_front():
    wide, high = (float(DRAWING.get(key, "").removesuffix("mm")) for key in ("width", "height"))
    assert DRAWING.get("viewBox") == f"0 0 {wide:g} {high:g}"  # one unit is one millimetre
    left, top, width, height = drawn("window", "x", "y", "width", "height")
    lit = drawn("lit", "x", "y", "width", "height")
    assert left < lit[0]
    assert top < lit[1]
    assert lit[0] + lit[2] < left + width
    assert lit[1] + lit[3] < top + height
    assert lit[2] == 2.0 * lit[3] == 55.0  # 128 by 64 square pixels of 0.43 mm
    holes = [drawn(name, "cx", "cy", "r") for name in ("previous", "third", "next", "microphone")]
    assert [x for x, _, _ in holes[:3]] == sorted(x for x, _, _ in holes[:3])
    assert all(r < x < wide - r and top + height + r < y < high - r for x, y, r in holes)
    assert min(b[0] - a[0] for a, b in ((holes[0], holes[1]), (holes[1], holes[2]))) >= 30.0  # small fingers


def test_the_label_says_what_keeps_people_and_trust_safe():
    label = (Path(__file__).parent.parent / "systemd" / "label.svg").read_text()
    for words in ("records nothing", "away from your face", "slowly", "grown-up"):
        assert words in label


def test_every_fault_of_the_panel_and_every_controller_is_in_the_table_of_troubles():
    trouble = BUILDING[BUILDING.index("## When something is wrong") :]
    for words in (
        "microphone, struck out",
        "loudspeaker, struck out",
        "too loud",
        "too busy",
        "older version",
    ):
        assert words in trouble
    assert all(chip.value in BUILDING.lower() for chip in ControllerName)
