"""Trying the parts of a built box one by one; each trial says in one sentence what it found."""

import contextlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw

from device.commands.finding import Finding, Person
from device.errors import PartError
from device.events import Button
from device.listening import NewTracker
from device.parts.store import Store
from device.ports import Buttons, Clock, Microphone, Panel, SendsInPieces
from dsp import Reading, Samples, Seconds
from dsp.level import level_dbfs, peak

LISTEN_S = Seconds(2.0)  # chosen: long enough to count the sample rate within a percent
WAIT_S = Seconds(20.0)  # chosen: for a person to walk from the keyboard to the wall
PACE_S = Seconds(0.01)
FIRST_BLOCK_S = Seconds(3.0)  # a sound server was seen to take over one second
RATE_OFF = 0.03  # share; blocks come in bursts, and the worst wrong rate in use (44.1 for 48) is 8 %
TOO_NOISY_DBFS = -30.0  # chosen: a pluck at arm's length arrives at about -20
CLIPPED = 0.985  # of full scale
FAST_BUS_HZ = 400_000  # what the installer sets; a whole picture then takes 23 ms instead of 93


@dataclass(frozen=True, slots=True)
class Bench:
    """What the trials work with."""

    clock: Clock
    person: Person


def try_microphone(bench: Bench, opened: Callable[[], Microphone], new_tracker: NewTracker) -> list[Finding]:
    """Its rate, its noise, and a pluck if somebody is there."""
    try:
        microphone = opened()
    except PartError as why:
        return [Finding("microphone", False, str(why))]
    try:
        return [_quiet(bench, microphone), _pluck(bench, microphone, new_tracker)]
    except PartError as why:
        return [Finding("microphone", False, str(why))]
    finally:
        microphone.close()


def try_panel(bench: Bench, opened: Callable[[], Panel]) -> Finding:
    """A frame along all four edges, and one word."""
    try:
        panel = opened()
        _shown(panel)
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
    return Finding("panel", True, "answers" + (" and shows the test picture" if bench.person.there else ""))


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


def try_buttons(bench: Bench, opened: Callable[[], Buttons]) -> Finding:
    """None down by itself; each one pressed, if somebody is there."""
    try:
        buttons = opened()
    except PartError as why:
        return Finding("buttons", False, str(why))
    try:
        return _each_pressed(bench, buttons)
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


def _quiet(bench: Bench, microphone: Microphone) -> Finding:
    """Listens for a moment: the rate, the noise floor, clipping, and whether anything moves at all."""
    _first_block(bench, microphone)
    begun, heard = bench.clock.now(), list[Samples]()
    while bench.clock.now() - begun < LISTEN_S:
        bench.clock.sleep(PACE_S)
        heard.append(microphone.read())
    rate = sum(len(block) for block in heard) / (bench.clock.now() - begun)
    said = f"{microphone.sample_rate_hz} samples a second"
    if abs(rate / microphone.sample_rate_hz - 1.0) > RATE_OFF:
        return Finding("microphone", False, f"says {said} and gives {rate:.0f}; every reading would be wrong")
    floor, loudest = level_dbfs(heard), peak(heard)
    if floor is None:
        return Finding("microphone", False, f"gives {said}, all of them alike: is it switched on?")
    said += f", noise floor {floor:.0f} dBFS"
    if loudest >= CLIPPED:
        return Finding("microphone", False, f"{said}, and it is driven too hard: turn its gain down")
    if floor > TOO_NOISY_DBFS:
        return Finding("microphone", False, f"{said}: too much for a string to be heard above it")
    return Finding("microphone", True, said)


def _first_block(bench: Bench, microphone: Microphone) -> None:
    begun = bench.clock.now()
    while len(microphone.read()) == 0:
        if bench.clock.now() - begun > FIRST_BLOCK_S:
            raise PartError(f"it is open and gives no sound at all for {FIRST_BLOCK_S:g} s")
        bench.clock.sleep(PACE_S)


def _pluck(bench: Bench, microphone: Microphone, new_tracker: NewTracker) -> Finding:
    if not bench.person.there:
        return Finding("pluck", None, "nobody is at the terminal to pluck a string")
    bench.person.tell(f"Pluck any open string within {WAIT_S:g} s.")
    tracker, begun = new_tracker(microphone.sample_rate_hz), bench.clock.now()
    loudest, readings = 0.0, list[Reading]()
    while bench.clock.now() - begun < WAIT_S and not (readings and readings[-1].since_pluck_s > 0.3):
        bench.clock.sleep(PACE_S)
        block = microphone.read()
        loudest = max(loudest, peak([block]))
        readings += tracker.feed(block)
    if not readings:
        return Finding("pluck", False, f"no string was heard; the loudest sample was {_db(loudest)}")
    last = readings[-1]
    said = f"heard {last.frequency_hz:.1f} Hz at {last.level_dbfs:.0f} dBFS"
    if loudest >= CLIPPED:
        return Finding("pluck", False, f"{said}, too loud for the microphone: turn its gain down")
    return Finding("pluck", True, said)


def _each_pressed(bench: Bench, buttons: Buttons) -> Finding:
    down = sorted(button.value for button in buttons.down())
    if down:
        return Finding(
            "buttons", False, f"{' and '.join(down)} down though nobody presses: look at the wiring"
        )
    if not bench.person.there:
        return Finding("buttons", True, "none is down; nobody is at the terminal to press each")
    bench.person.tell(f"Press each of the three buttons within {WAIT_S:g} s.")
    begun, pressed = bench.clock.now(), set[Button]()
    while bench.clock.now() - begun < WAIT_S and len(pressed) < len(Button):
        bench.clock.sleep(PACE_S)
        pressed |= set(buttons.down())
    silent = sorted(button.value for button in set(Button) - pressed)
    if silent:
        return Finding("buttons", False, f"{' and '.join(silent)} never went down: look at the wiring")
    return Finding("buttons", True, "each of the three was pressed")


def _db(amplitude: float) -> str:
    return f"at {20.0 * math.log10(amplitude):.0f} dBFS" if amplitude > 0.0 else "zero"
