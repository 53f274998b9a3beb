"""Rebuilds what an OLED controller keeps in its memory from the bytes on the wire.

SSD1306: Solomon Systech data sheet rev 1.1, sections 8.1.5 (I2C: control byte 00h commands, 40h
data), 9 and 10 (command table; addressing modes 00h horizontal, 01h vertical, 02h page).
SH1106: Sino Wealth data sheet V2.3, command table and section on the page address circuit; 132
columns, of which a panel of 128 shows columns 2 to 129. Figures as remembered from these sheets; that
they are right is seen where the driver of a kept library draws on this model (tests/test_display.py).
"""

import errno
from typing import ClassVar

import numpy as np

ADDRESS = 0x3C


class Controller:
    """The parts both controllers share: commands of one or two bytes, on and off, contrast."""

    columns = 128
    shown = slice(0, 128)
    # commands with this many bytes after them; all others stand alone
    longer: ClassVar = {0x81: 1, 0xA8: 1, 0xD3: 1, 0xD5: 1, 0xD9: 1, 0xDA: 1, 0xDB: 1, 0x8D: 1}

    def __init__(self) -> None:
        # what is in the memory when power comes on is not defined
        self.memory = np.arange(8 * self.columns).reshape(8, self.columns) * 37 % 256
        self.on, self.contrast = False, 0x7F
        self.remapped = self.scanned_down = False
        self.page = self.column = 0

    def commands(self, values: list[int]) -> None:
        values = list(values)
        while values:
            command, rest = values[0], values[1:]
            count = self.longer.get(command, 0)
            self.command(command, rest[:count])
            values = rest[count:]

    def command(self, command: int, given: list[int]) -> None:
        if command in (0xAE, 0xAF):
            self.on = command == 0xAF
        elif command == 0x81:
            self.contrast = given[0]
        elif command in (0xA0, 0xA1):
            self.remapped = command == 0xA1
        elif command in (0xC0, 0xC8):
            self.scanned_down = command == 0xC8
        elif command in (0xA5, 0xA7):
            raise AssertionError(f"{command:#x} lights everything or turns it over")

    def picture(self) -> np.ndarray:
        """What is seen, True where lit, as the panels of the trade are built (A1h and C8h set)."""
        assert self.on
        assert self.remapped
        assert self.scanned_down
        return np.unpackbits(self.memory[:, self.shown].astype(np.uint8), axis=0, bitorder="little").astype(
            bool
        )


class Ssd1306(Controller):
    longer: ClassVar = {**Controller.longer, 0x20: 1, 0x21: 2, 0x22: 2}

    def __init__(self) -> None:
        super().__init__()
        self.mode = 2  # page addressing after a reset
        self.window = (0, 127)
        self.pages = (0, 7)

    def command(self, command: int, given: list[int]) -> None:
        if command == 0x20:
            self.mode = given[0]
        elif command == 0x21:
            self.window, self.column = (given[0], given[1]), given[0]
        elif command == 0x22:
            self.pages, self.page = (given[0], given[1]), given[0]
        else:
            super().command(command, given)

    def data(self, values: list[int]) -> None:
        assert self.mode == 0, "only horizontal addressing is modelled"
        for value in values:
            self.memory[self.page, self.column] = value
            self.column += 1
            if self.column > self.window[1]:
                self.column = self.window[0]
                self.page = self.page + 1 if self.page < self.pages[1] else self.pages[0]


class Sh1106(Controller):
    columns = 132
    shown = slice(2, 130)

    def command(self, command: int, given: list[int]) -> None:
        if command <= 0x0F:
            self.column = self.column & 0xF0 | command
        elif command <= 0x1F:
            self.column = self.column & 0x0F | (command & 0x0F) << 4
        elif 0xB0 <= command <= 0xB7:
            self.page = command & 7
        else:
            super().command(command, given)

    def data(self, values: list[int]) -> None:
        for value in values:
            self.memory[self.page, self.column] = value
            self.column = min(self.column + 1, self.columns - 1)


class Wire:
    """Stands in for smbus2.SMBus: one controller on the bus, every byte counted, or nobody there."""

    def __init__(self, controller: Controller) -> None:
        self.controller = controller
        self.gone = False
        self.loses = lambda _message: False  # whether the message of that number is lost on the wire
        self.lost = 0
        self.bytes = self.messages = self.longest = 0
        self.closed = 0

    def __call__(self, _bus: int) -> "Wire":
        return self

    def write_i2c_block_data(self, address: int, register: int, values: list[int]) -> None:
        assert len(values) <= 32
        self._message(address, register, values)

    def i2c_rdwr(self, message) -> None:
        register, *values = list(message)
        self._message(message.addr, register, values)

    def close(self) -> None:
        self.closed += 1

    def _message(self, address: int, register: int, values: list[int]) -> None:
        if self.gone or address != ADDRESS:
            raise OSError(errno.EREMOTEIO, "Remote I/O error")
        if self.loses(self.messages + self.lost):
            self.lost += 1
            raise OSError(errno.EREMOTEIO, "Remote I/O error")
        length = 2 + len(values)  # address byte and control byte before them
        self.bytes += length
        self.messages += 1
        self.longest = max(self.longest, length)
        {0x00: self.controller.commands, 0x40: self.controller.data}[register](values)
