"""The panel: a one-colour OLED on I2C with an SSD1306, SSD1309 or SH1106, through luma.

luma knows how to wake each controller; what is shown is sent by us, because a whole picture takes
93 ms on a 100 kHz bus: only the columns that changed, and only so many at a time that the loop is
back before a short tap is over. Every call of this module takes a bounded time on the bus.
"""

import contextlib
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PIL import Image

from device.errors import PartError
from device.parts.pages import Run, pages_of, runs_to_send, unknown

WIDTH, HEIGHT = 128, 64
PIECE = 32  # columns sent in one message: 3.1 ms with its addressing at 100 kHz, 9 clocks a byte
BUDGET_S = 0.006  # a call sends pieces until so much time is gone: under a tick of the loop
TRIES = 3  # of a message: a disturbed wire loses one, a panel that is gone loses all; each costs 3 ms at most
INSTALL_PANEL = "install it with `pip install 'wallpeg[board]'`"
DISPLAY_ON = 0xAF  # both data sheets
NO_OPERATION = 0xE3  # both data sheets: NOP; answered by a controller that is there


@dataclass(frozen=True, slots=True)
class Controller:
    """How one kind of controller is told where the next bytes go."""

    luma_name: str  # its class in luma.oled.device
    address: Callable[[Run], tuple[int, ...]]


def _window(run: Run) -> tuple[int, ...]:
    """SSD1306 data sheet, table 9-1: 21h column start and end, 22h page start and end."""
    return 0x21, run.first, run.last, 0x22, run.page, run.page


def _page_and_column(run: Run) -> tuple[int, ...]:
    """SH1106 data sheet, commands 1, 2 and 11: page, low and high half of the column.

    Its memory is 132 columns wide; a panel of 128 shows those from the third on.
    """
    column = run.first + 2
    return 0xB0 | run.page, column & 0x0F, 0x10 | column >> 4


CONTROLLERS = {
    "ssd1306": Controller("ssd1306", _window),
    "ssd1309": Controller("ssd1309", _window),
    "sh1106": Controller("sh1106", _page_and_column),
}


class Display:
    """One panel that answers.

    Parameters
    ----------
    controller : a name in CONTROLLERS
    bus, address : where it sits on I2C
    turned : it is built in upside down
    budget_s : how long one call of `send_more` may go on starting messages
    """

    size = (WIDTH, HEIGHT)

    def __init__(
        self,
        controller: str = "ssd1306",
        bus: int = 1,
        address: int = 0x3C,
        turned: bool = False,
        budget_s: float = BUDGET_S,
    ) -> None:
        self._where = f"the {controller} panel at 0x{address:02x} on I2C bus {bus}"
        self._kind = CONTROLLERS[controller]
        self._turned, self._upside_down = turned, False
        self._budget = budget_s
        self._held = unknown(WIDTH, HEIGHT)
        self._wanted = self._held
        self._picture: Image.Image | None = None
        self._device = self._safely(_awake, self._kind.luma_name, bus, address)
        self._lit = False

    def show(self, picture: Image.Image) -> None:
        """Take a picture over; `send_more` brings it on the panel."""
        self._picture = picture
        self._wanted = pages_of(picture, self._turned != self._upside_down)

    def send_more(self) -> bool:
        """Send a piece or more; True while there may be something left.

        With nothing to send it only asks whether the panel is there. PartError when it is gone.
        """
        if self._picture is None:
            return False
        end, quiet = time.monotonic() + self._budget, True
        for run in runs_to_send(self._held, self._wanted, PIECE):
            self._safely(_again(self._send), run)  # a piece with its address, so it may be sent twice
            quiet = False
            if time.monotonic() > end:
                return True
        if not self._lit or quiet:
            self._safely(self._device.command, NO_OPERATION if self._lit else DISPLAY_ON)
            self._lit = True
        return False

    def adjust(self, brightness_percent: int, upside_down: bool) -> None:
        """Set how bright the panel is, and which way up."""
        level = round(255 * brightness_percent / 100)
        self._safely(self._device.contrast, level)
        if upside_down != self._upside_down:
            self._upside_down = upside_down
            if self._picture is not None:
                self.show(self._picture)

    def close(self) -> None:
        """Clear the panel, switch it off and let go of the bus."""
        if self._device is None:
            return
        try:
            self._clear()
        finally:
            device, self._device = self._device, None
            device._serial_interface.cleanup()

    def _clear(self) -> None:
        self.show(Image.new("1", self.size))
        self._budget = float("inf")
        self.send_more()
        self._safely(self._device.hide)

    def _send(self, run: Run) -> None:
        columns = self._wanted[run.page, run.first : run.last + 1]
        self._device.command(*self._kind.address(run))
        self._device.data(columns.tolist())
        self._held[run.page, run.first : run.last + 1] = columns

    def _safely(self, act: Callable[..., Any], *arguments: object) -> Any:
        """Do something on the bus; whatever the library raises becomes a PartError."""
        try:
            return act(*arguments)
        except ImportError as missing:
            raise PartError(f"the panel's library is missing ({missing}); {INSTALL_PANEL}") from missing
        except Exception as failure:
            raise PartError(f"{self._where} does not answer ({failure})") from failure


def _again(act: Callable[..., Any]) -> Callable[..., Any]:
    """The same, done again at once where it fails, up to `TRIES` times; for what may be done twice."""

    def tried(*arguments: object) -> Any:
        for _ in range(TRIES - 1):
            with contextlib.suppress(Exception):  # whatever the library raises
                return act(*arguments)
        return act(*arguments)

    return tried


def _awake(luma_name: str, bus: int, address: int) -> Any:
    """A luma device that is set up and still dark, its memory untouched.

    It is lit once the first picture is in its memory, so that nobody sees what was there before.

    luma keeps every device it made until the program ends, so one is made only when the controller
    answers, and its tables for drawing, which we do not use, are dropped: seeking a panel that is
    gone for days costs no memory.
    """
    import luma.oled.device  # noqa: PLC0415 - only a board has it
    from luma.core.interface.serial import i2c  # noqa: PLC0415

    serial = i2c(port=bus, address=address)
    serial.command = _again(serial.command)
    try:
        serial.command(NO_OPERATION)
        kind = getattr(luma.oled.device, luma_name)
        left_to_us = {"display": lambda _self, _picture: None, "show": lambda _self: None}
        device = type("Dark", (kind,), left_to_us)(serial)
    except Exception:
        serial.cleanup()
        raise
    device.persist = True  # it is we who clear it
    device._mask = device._offsets = None
    return device
