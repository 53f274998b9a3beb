"""`wallpeg run` is the box itself. Here, and nowhere else, the real parts are built and put together."""

import argparse
import glob
import traceback
from importlib.util import find_spec
from pathlib import Path

from device.commands.appliance import BuildParts, note, serve
from device.commands.library_lines import say_each_once
from device.commands.options import leave
from device.commands.settings_file import LoadedSettings
from device.config.hardware import PanelHardware, PanelRotation
from device.errors import BoardError, PartError, WallpegError
from device.parts.button_sampler import SampledButtons
from device.parts.buttons import GpioButtons, lgpio_factory
from device.parts.clock import MonotonicClock
from device.parts.display import Display
from device.parts.microphone import MicrophoneSeeker
from device.parts.panel_seeker import PanelSeeker
from device.parts.speaker import SoundCardSpeaker
from device.runtime.loop_interface import Parts, Reopen

LIBRARIES = ("sounddevice", "gpiozero", "luma.oled", "smbus2")
"""The extra [board], but for the pin driver: a box without its buttons still tunes, and says so."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument(
        "--config",
        metavar="FILE",
        type=Path,
        help="the settings file; without it /boot/firmware/wallpeg.toml, then /etc/wallpeg.toml",
    )
    parser.add_argument(
        "--state", metavar="DIR", type=Path, help="where the box keeps what was changed with its buttons"
    )


def main(arguments: argparse.Namespace) -> int:
    """Run until asked to stop.

    Raises BoardError, in one sentence, on a computer that is no board, PartError where libraries are missing.
    """
    missing, kind = what_is_missing(), PartError if missing_libraries() else BoardError
    if missing:
        raise kind(
            f"this computer has no {missing}, which the box needs; `demo/run` shows it on any computer"
        )
    say_each_once(note)
    status = served(arguments.config, arguments.state, real_parts)
    leave(status)
    return status


def served(config: Path | None, state: Path | None, build: BuildParts) -> int:
    """Serve to the end; 1 after a mistake of our own, told to the journal with the place it happened at.

    The process then leaves at once and the service manager starts it again, whatever state the sound
    library is in.
    """
    try:
        return serve(config, state, build)
    except WallpegError:
        raise
    except Exception:
        traceback.print_exc()
        return 1


def what_is_missing() -> str:
    """What no amount of waiting will bring: the board's libraries, pins or bus; "" on a board."""
    absent = missing_libraries()
    if not glob.glob("/dev/gpiochip*"):  # noqa: PTH207 - one line for two patterns
        absent.append("GPIO pins (/dev/gpiochip*)")
    if not glob.glob("/dev/i2c-*"):  # noqa: PTH207 - as above
        absent.append("I2C bus (/dev/i2c-*)")
    return ", no ".join(absent)


def missing_libraries() -> list[str]:
    """The board's libraries that are not installed, each in words."""
    return [f"Python library {name}" for name in LIBRARIES if not _installed(name)]


def real_parts(settings: LoadedSettings) -> tuple[Parts, Reopen]:
    """The parts the settings name. Each is opened by the loop, so that none holds up another."""
    hardware = settings.hardware
    microphone, panel, speaker = hardware.microphone, hardware.panel, hardware.speaker
    reopen = Reopen(
        microphone=MicrophoneSeeker(microphone.name, microphone.sample_rate_hz, microphone.channel),
        buttons=lambda: SampledButtons(GpioButtons(hardware.buttons.pins, lgpio_factory())),
        panel=PanelSeeker(lambda: display_of(panel), panel.i2c_bus),
        speaker=(lambda: SoundCardSpeaker(speaker.name)) if speaker.fitted else None,
    )
    return Parts(MonotonicClock(), None, None, None), reopen


def display_of(panel: PanelHardware) -> Display:
    """The panel the settings name."""
    turned = panel.rotation is PanelRotation.UPSIDE_DOWN
    return Display(panel.controller.value, panel.i2c_bus, panel.i2c_address, turned=turned)


def _installed(name: str) -> bool:
    try:
        return find_spec(name) is not None
    except ModuleNotFoundError:
        return False
