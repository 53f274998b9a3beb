"""Defines which parts the box is built of: the tables of the settings file beside `[settings]`.

A refused key keeps its default, so that a mistake in the file never leaves the panel dark.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum

from device.config.config_tables import Key, Table, commented_table, read_table, unknown_tables
from device.config.settings_table import SETTINGS
from device.config.value_types import Choice, Flag, Number, Text
from device.errors import SettingError
from device.events import Button


class ControllerName(Enum):
    """Which chip drives the panel; it is printed on the panel's board or in its description."""

    SSD1306 = "ssd1306"
    SSD1309 = "ssd1309"
    SH1106 = "sh1106"


class PanelRotation(Enum):
    """How the panel is built in, in degrees."""

    UPRIGHT = 0
    UPSIDE_DOWN = 180


@dataclass(frozen=True, slots=True)
class MicrophoneHardware:
    """The table `[microphone]`."""

    name: str = ""
    sample_rate_hz: int = 48000
    channel: int = 1


@dataclass(frozen=True, slots=True)
class PanelHardware:
    """The table `[panel]`."""

    controller: ControllerName = ControllerName.SSD1309  # the usual one of 2.4-inch panels
    i2c_bus: int = 1
    i2c_address: int = 0x3C
    rotation: PanelRotation = PanelRotation.UPRIGHT


@dataclass(frozen=True, slots=True)
class ButtonHardware:
    """The table `[buttons]`: GPIO numbers (BCM), each wired to ground through its button."""

    next: int = 17
    previous: int = 27
    tone: int = 22

    @property
    def pins(self) -> dict[Button, int]:
        """The pin of each button."""
        return {Button.NEXT: self.next, Button.PREVIOUS: self.previous, Button.TONE: self.tone}


@dataclass(frozen=True, slots=True)
class SpeakerHardware:
    """The table `[speaker]`."""

    fitted: bool = True
    name: str = ""


@dataclass(frozen=True, slots=True)
class Hardware:
    """The whole box."""

    microphone: MicrophoneHardware
    panel: PanelHardware
    buttons: ButtonHardware
    speaker: SpeakerHardware


@dataclass(frozen=True, slots=True)
class Address:
    """An I2C address the panels of the trade have: SSD1306 data sheet, section 8.1.5, SA0 low or high."""

    choices: tuple[int, ...] = (0x3C, 0x3D)

    @property
    def allowed(self) -> str:
        """In the way the panel's board prints it."""
        return " or ".join(f"0x{choice:02x}" for choice in self.choices)

    def value(self, found: object, default: object) -> int:
        """The address itself."""
        if isinstance(found, int) and not isinstance(found, bool) and found in self.choices:
            return found
        raise SettingError(f"is not {self.allowed}, without quotes; {self.written(default)} works")

    def typed(self, text: str) -> object:
        """A number in any of Python's ways to write one, or the text itself."""
        try:
            return int(text, 0)
        except ValueError:
            return text

    def written(self, value: object) -> str:
        """In hexadecimal."""
        return f"0x{value:02x}" if isinstance(value, int) else str(value)


_MICROPHONE, _PANEL, _BUTTONS, _SPEAKER = (
    MicrophoneHardware(),
    PanelHardware(),
    ButtonHardware(),
    SpeakerHardware(),
)
_PIN = Number(4.0, 27.0, "(GPIO numbers; 2 and 3 are the panel's)", whole=True)

MICROPHONE = Table(
    "microphone",
    (
        Key("name", Text(), _MICROPHONE.name, 'part of its name, as `wallpeg check` lists it; "" takes any'),
        Key(
            "sample_rate_hz",
            Number(8000.0, 192000.0, "Hz", whole=True),
            _MICROPHONE.sample_rate_hz,
            "samples a second; its own rate is used where it cannot do this one",
        ),
        Key("channel", Number(1.0, 8.0, whole=True), _MICROPHONE.channel, "1 is the left one of two"),
    ),
    MicrophoneHardware,
)
PANEL = Table(
    "panel",
    (
        Key("controller", Choice(ControllerName), _PANEL.controller, "the chip that drives the panel"),
        Key(
            "i2c_bus",
            Number(0.0, 22.0, whole=True),
            _PANEL.i2c_bus,
            "the I2C bus; for another one run the installer again",
        ),
        Key("i2c_address", Address(), _PANEL.i2c_address, "its address on the bus, as `i2cdetect` shows it"),
        Key("rotation", Choice(PanelRotation), _PANEL.rotation, "180 when it is built in upside down"),
    ),
    PanelHardware,
)
BUTTONS = Table(
    "buttons",
    (
        Key("next", _PIN, _BUTTONS.next, "the pin of the button for the next string"),
        Key("previous", _PIN, _BUTTONS.previous, "of the one for the string before"),
        Key("tone", _PIN, _BUTTONS.tone, "of the one for the reference tone and the settings"),
    ),
    ButtonHardware,
)
SPEAKER = Table(
    "speaker",
    (
        Key("fitted", Flag(), _SPEAKER.fitted, "whether there is a loudspeaker"),
        Key("name", Text(), _SPEAKER.name, 'part of its name, as `wallpeg check` lists it; "" takes any'),
    ),
    SpeakerHardware,
)
_HEAD = """# The settings of this Wallpeg. Every line below is commented out and shows what holds without it:
# take the # away in front of a line to change it, then pull the plug and put it in again.
# A line that cannot be used is named in the journal (journalctl -u wallpeg), with what would work.
#
# What is changed with the buttons on the box wins over this file, until "back to the file" is chosen.
"""


def read_hardware(found: Mapping[str, object]) -> tuple[Hardware, tuple[str, ...]]:
    """Read the parts from the tables of the file, and name in a sentence whatever was refused."""
    microphone, no_microphone = read_table(MICROPHONE, found.get("microphone", {}))
    panel, no_panel = read_table(PANEL, found.get("panel", {}))
    buttons, no_buttons = read_table(BUTTONS, found.get("buttons", {}))
    speaker, no_speaker = read_table(SPEAKER, found.get("speaker", {}))
    buttons, shared = _apart(buttons)
    unknown = unknown_tables(found, (MICROPHONE.name, PANEL.name, BUTTONS.name, SPEAKER.name, SETTINGS.name))
    refusals = (*no_microphone, *no_panel, *no_buttons, *shared, *no_speaker, *unknown)
    return Hardware(microphone, panel, buttons, speaker), refusals


def settings_page() -> str:
    """The settings file as it is installed: everything that can be set, with its range, commented out."""
    hardware = (
        commented_table(MICROPHONE),
        commented_table(PANEL),
        commented_table(BUTTONS),
        commented_table(SPEAKER),
    )
    return "\n".join((_HEAD, *hardware, commented_table(SETTINGS)))


def _apart(buttons: ButtonHardware) -> tuple[ButtonHardware, tuple[str, ...]]:
    """Each button on a pin of its own; otherwise all three on their usual ones."""
    if len(set(buttons.pins.values())) == len(buttons.pins):
        return buttons, ()
    given = ", ".join(f"{button.value} = {pin}" for button, pin in buttons.pins.items())
    usual = ", ".join(f"{button.value} = {pin}" for button, pin in _BUTTONS.pins.items())
    return replace(_BUTTONS), (f"{given} in [buttons] put two buttons on one pin; {usual} works",)
