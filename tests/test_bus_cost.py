"""What a lesson costs on the panel's bus, with the real screen and the real driver on a modelled chip."""

import numpy as np
import pytest

from device.events import Heard
from device.runtime.box_state import box_engine
from dsp import Cents, Hz, Seconds, shifted
from dsp.synthesis import pluck
from tests.oled import Sh1106, Ssd1306, Wire
from tests.test_faults import RATE, PlayedMicrophone
from tests.test_loop import Wall

pytest.importorskip("luma.oled", reason="the board's panel library is not installed")
smbus2 = pytest.importorskip("smbus2", reason="the board's bus library is not installed")

WHOLE = 1034  # bytes on the wire of a whole picture sent at once: 1024 and the addressing
SLOW_HZ, CLOCKS = (
    100_000,
    9,
)  # the default speed of the bus, and clocks a byte (I2C: eight bits and one answer)


def lesson():
    """An E string that is brought up from 45 cents flat in five plucks."""
    offs = [-45.0, -30.0, -15.0, -6.0, 0.0]
    plucks = [pluck(shifted(Hz(659.255), Cents(off)), Seconds(3.0), RATE, seed=2) for off in offs]
    return np.concatenate([np.zeros(RATE, np.float32), *plucks])


@pytest.mark.parametrize("chip", [Ssd1306, Sh1106])
def test_a_lesson_leaves_the_bus_mostly_free(monkeypatch, chip):
    from device.parts.display import Display  # noqa: PLC0415 - only where the library is

    wire = Wire(chip())
    monkeypatch.setattr(smbus2, "SMBus", wire)
    wall = Wall()
    wall.panel = None
    wall.microphone = PlayedMicrophone(wall.clock, lesson())
    seconds = 16.5
    name = "ssd1306" if chip is Ssd1306 else "sh1106"
    wall.run(seconds, box_engine(), panel=lambda: Display(name, budget_s=0.0))
    pictures, readings = wall.snapshots[-1].health.pictures, len(wall.events(Heard))
    share = wire.bytes * CLOCKS / SLOW_HZ / seconds
    print(
        f"{name}: {pictures} pictures, {wire.bytes / pictures:.0f} bytes each, "
        f"{wire.bytes / readings:.0f} bytes a reading, bus at 100 kHz busy {100 * share:.1f} %, "
        f"longest message {wire.longest} bytes"
    )
    assert pictures > 10
    assert wire.bytes / pictures < 0.7 * WHOLE
    assert share < 0.2
