"""The box as the service runs it in the booted root, with stand-ins for what no PC has.

Real: the installed program, its loop, signal path, coach, screen, the microphone through PortAudio,
the panel's driver, the state file, the service manager. Stand-ins: the panel's chip (a model of its
memory on the bus), the pins. A file in the runtime folder presses a button, makes the loop hang or trip.
"""

import contextlib
import os
import socket
import sys
import time
from pathlib import Path

sys.path.insert(0, "/opt/stand-ins")

import smbus2
from gpiozero.pins.mock import MockFactory
from oled import Ssd1306, Wire
from PIL import Image

from device.commands.options import leave
from device.commands.run import served
from device.parts.buttons import GpioButtons
from device.parts.clock import MonotonicClock
from device.parts.display import Display
from device.parts.microphone import MicrophoneSeeker
from device.runtime.loop_interface import Parts, Reopen

RUNTIME, STATE = Path(os.environ["RUNTIME_DIRECTORY"]), Path(os.environ["STATE_DIRECTORY"])


class SeenWire(Wire):
    """Keeps what is seen of the panel in a file."""

    def _message(self, address, register, values):
        super()._message(address, register, values)
        chip = self.controller
        lit = chip.picture() if chip.on else None
        picture = Image.new("1", (128, 64)) if lit is None else Image.fromarray(lit)
        picture.save(STATE / "panel.new", format="PNG")
        (STATE / "panel.new").replace(STATE / "panel.png")


class WatchedButtons:
    """Presses what a file asks for, and hangs or trips when a file is there."""

    def __init__(self, pins):
        self._pins, self._factory = pins, MockFactory()
        self._real = GpioButtons(pins, self._factory)

    def down(self):
        while (RUNTIME / "hang").exists():
            time.sleep(1)
        if (RUNTIME / "trip").exists():
            raise RuntimeError("tripped")
        asked = (RUNTIME / "press").read_text().split() if (RUNTIME / "press").exists() else []
        for button, number in self._pins.items():
            pin = self._factory.pin(number)
            (pin.drive_low if button.value in asked else pin.drive_high)()
        return self._real.down()

    def close(self):
        self._real.close()


def parts_for(settings):
    panel, microphone = settings.hardware.panel, settings.hardware.microphone
    reopen = Reopen(
        microphone=MicrophoneSeeker("wallmic", microphone.sample_rate_hz, microphone.channel),
        buttons=lambda: WatchedButtons(settings.hardware.buttons.pins),
        panel=lambda: Display(panel.controller.value, panel.i2c_bus, panel.i2c_address),
    )
    return Parts(MonotonicClock(), None, None, None), reopen


def attempts():
    """What happens when something in the service tries what it must not."""
    tried = {
        "network": lambda: socket.create_connection(("192.0.2.1", 9), timeout=1),
        "etc": lambda: Path("/etc/wallpeg-was-here").write_text("x"),
        "program": lambda: Path("/opt/wallpeg/was-here").write_text("x"),
        "home": lambda: list(Path("/root").iterdir()),
    }
    for name, act in tried.items():
        try:
            act()
            yield f"{name}: succeeded"
        except OSError as refused:
            yield f"{name}: {type(refused).__name__} {refused.errno}"


(RUNTIME / "attempts").write_text("\n".join(attempts()) + "\n")
for leftover in ("hang", "trip", "press"):
    with contextlib.suppress(FileNotFoundError):
        (RUNTIME / leftover).unlink()
smbus2.SMBus = SeenWire(Ssd1306())
leave(served(None, None, parts_for))
