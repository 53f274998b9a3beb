"""Tries the parts of a built box one by one; each trial says in one sentence what it found."""

import contextlib
import json
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw

from device.errors import PartError
from device.events import Button
from device.parts.store import Store
from device.ports import Buttons, Clock, Panel, SendsInPieces
from dsp import Seconds

WAIT_S = Seconds(20.0)  # chosen: for a person to walk from the keyboard to the wall
PACE_S = Seconds(0.01)
CONTACT_PACE_S = Seconds(0.001)  # short beside a bounce of a small push button, 1 to 10 ms (common practice)
BOUNCE_LIMIT_S = Seconds(0.05)  # chosen: a change later than that is another press
FAST_BUS_HZ = 400_000  # what the installer sets; a whole picture then takes 23 ms instead of 93
FINDING_MARKS = {True: "good", False: "BAD", None: "not tried"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence about one thing; `works` is None when it was not tried."""

    what: str
    works: bool | None
    says: str

    def line(self, as_json: bool) -> str:
        """For a person, or one JSON object."""
        if as_json:
            return json.dumps({"check": self.what, "works": self.works, "says": self.says})
        return f"{self.what:<12} {FINDING_MARKS[self.works]:<9} {self.says}"


class Person:
    """Somebody at the terminal, or nobody: then nothing is asked and nothing is waited for."""

    def __init__(self, there: bool | None = None) -> None:
        self.there = sys.stdin.isatty() if there is None else there

    def tell(self, sentence: str) -> None:
        """Say something that is not part of the report."""
        print(sentence, file=sys.stderr, flush=True)

    def agrees(self, question: str) -> bool:
        """Yes or no; no when nobody answers."""
        if not self.there:
            return False
        print(f"{question} [y/n] ", end="", file=sys.stderr, flush=True)
        return sys.stdin.readline().strip().lower().startswith("y")


@dataclass(frozen=True, slots=True)
class BounceWatch:
    """How long levels went on changing after they had begun to."""

    changed: Seconds  # the last change
    began: Seconds | None = None  # the first of these changes; None before any
    down: frozenset[Button] = frozenset()
    longest_s: float = 0.0

    def looked_at(self, down: frozenset[Button], at: Seconds) -> "BounceWatch":
        """The same after one look more."""
        if down == self.down:
            return self
        began = at if self.began is None or at - self.changed > BOUNCE_LIMIT_S else self.began
        return BounceWatch(at, began, down, max(self.longest_s, at - began))

    def is_over(self, at: Seconds) -> bool:
        """Whether nothing changed for as long as a bounce may last."""
        return at - self.changed > BOUNCE_LIMIT_S


@dataclass(frozen=True, slots=True)
class Bench:
    """What the trials work with."""

    clock: Clock
    person: Person


def try_panel(bench: Bench, opened: Callable[[], Panel]) -> Finding:
    """A frame along all four edges, and one word."""
    try:
        panel = opened()
        begun = bench.clock.now()
        _shown(panel)
        took_ms = 1000.0 * (bench.clock.now() - begun)
        seen = not bench.person.there or bench.person.agrees(
            "Is there a frame along all four edges of the panel?"
        )
        panel.close()
    except PartError as why:
        return Finding("panel", False, str(why))
    if not seen:
        return Finding(
            "panel", False, "answers, but the picture is not right: try another controller or rotation"
        )
    seen_too = " and shows the test picture" if bench.person.there else ""
    return Finding("panel", True, f"answers{seen_too}; a whole picture took {took_ms:.0f} ms")


def _shown(panel: Panel) -> None:
    """Show the test picture, all of it; a panel that fails on the way is let go of."""
    try:
        panel.show(test_picture(panel.size))
        while isinstance(panel, SendsInPieces) and panel.send_more():
            pass
    except PartError:
        with contextlib.suppress(PartError):
            panel.close()
        raise


def try_buttons(bench: Bench, opened: Callable[[], Buttons], pins: Mapping[Button, int]) -> Finding:
    """None down by itself; each one pressed, if somebody is there. `pins` says where the wires should be."""
    try:
        buttons = opened()
    except PartError as why:
        return Finding("buttons", False, str(why))
    try:
        return _each_pressed(bench, buttons, pins)
    except PartError as why:
        return Finding("buttons", False, str(why))
    finally:
        buttons.close()


def try_store(folder: Path) -> Finding:
    """Whether settings outlive the power there."""
    store = Store(folder / "check.txt")
    try:
        store.write("kept\n")
        kept = store.read()
        store.forget()
    except PartError as why:
        return Finding("settings", False, f"cannot be kept: {why}")
    return Finding("settings", kept == "kept\n", f"are kept in {folder}")


def bus_finding(bus: int, tree: Path = Path("/sys/class/i2c-adapter")) -> Finding:
    """How fast the panel's bus is, as the board's device tree says."""
    try:
        raw = (tree / f"i2c-{bus}" / "of_node" / "clock-frequency").read_bytes()
    except OSError:
        return Finding("bus", None, f"nothing tells how fast I2C bus {bus} is")
    hertz = int.from_bytes(raw[:4], "big")
    slow = "" if hertz >= FAST_BUS_HZ else "; pictures change slowly, the installer sets 400 kHz"
    return Finding("bus", True, f"I2C bus {bus} runs at {hertz / 1000:g} kHz{slow}")


def test_picture(size: tuple[int, int]) -> Image.Image:
    """A frame along all four edges, and one word."""
    picture = Image.new("1", size)
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, 0, size[0] - 1, size[1] - 1), outline=1)
    pen.text((40, 26), "Wallpeg", fill=1)
    return picture


def _each_pressed(bench: Bench, buttons: Buttons, pins: Mapping[Button, int]) -> Finding:
    down = buttons.down()
    if down:
        return Finding(
            "buttons", False, f"{_wired(down, pins)} down though nobody presses: look at the wiring"
        )
    if not bench.person.there:
        wired = _wired(pins, pins)
        return Finding("buttons", True, f"none of {wired} is down; nobody is at the terminal to press each")
    bench.person.tell(f"Press each of the three buttons within {WAIT_S:g} s.")
    begun, pressed, watch = bench.clock.now(), set[Button](), BounceWatch(bench.clock.now())
    while bench.clock.now() - begun < WAIT_S and not (
        len(pressed) == len(Button) and watch.is_over(bench.clock.now())
    ):
        bench.clock.sleep(CONTACT_PACE_S)
        levels = frozenset(buttons.down())
        watch = watch.looked_at(levels, bench.clock.now())
        pressed |= levels
    silent = set(Button) - pressed
    if silent:
        return Finding("buttons", False, f"{_wired(silent, pins)} never went down: look at the wiring")
    bounced = f"contacts bounced for {1000.0 * watch.longest_s:.0f} ms at most"
    return Finding("buttons", True, f"each of the three was pressed; {bounced}")


def _wired(buttons: Iterable[Button], pins: Mapping[Button, int]) -> str:
    """Buttons with the pins they are wired to."""
    return " and ".join(sorted(f"{button.value} (GPIO {pins[button]})" for button in buttons))
