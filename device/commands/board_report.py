"""Writes down what can only be measured on a real board: `wallpeg check --report FILE`.

Figures of the board and what the trials found, for `systemd/first-day.md`. Nothing private is in it:
no name of a host, a person or a network, no serial number, no date, no sound.
"""

import platform
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from pathlib import Path

from device.commands.service import UNIT, Call, systemctl
from device.commands.trials import Finding
from device.config.settings import Settings
from device.errors import WallpegError
from device.panel.scene import scene_of
from device.runtime.box_state import box_engine
from dsp import Hz, PitchTracker, Seconds

TRIED = ("version", "service", "bus", "panel", "microphone", "pluck", "buttons")
"""Trials whose sentences go into the report; the others name files and devices."""

REPORT_RATE_HZ, NOTE_TIMED_S = 48_000, Seconds(4.0)  # of the sound whose cost is measured
REPORT_BLOCK = 480  # samples: what a tick brings
DRAWN = 20  # pictures whose time is averaged
NOT_KNOWN = "not known here"


def report(
    findings: Iterable[Finding], before: Mapping[str, str], place: Path = Path("/"), cost: bool = True
) -> str:
    """The page: a figure a line. `before` is the service's state from before the trials."""
    lines = [*board(place), *running(before), *(costs() if cost else ())]
    lines += [f"{f.what}: {f.says}" for f in findings if f.what in TRIED]
    return "\n".join(["Wallpeg, measured on this board", "", *lines]) + "\n"


def write_report(path: Path, text: str) -> None:
    """Write a new file.

    Raises WallpegError, in a sentence, where there is one of that name or none can be made.
    """
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as there:
        raise WallpegError(f"{path} is there already; name a file that is not") from there
    except OSError as failure:
        raise WallpegError(f"{path} cannot be written ({failure.strerror})") from failure


def board(place: Path) -> Iterator[str]:
    """What it is, and how warm."""
    yield f"board: {_read(place / 'proc/device-tree/model')}"
    system = dict(line.split("=", 1) for line in _read(place / "etc/os-release").splitlines() if "=" in line)
    yield f"system: {system.get('PRETTY_NAME', NOT_KNOWN)}, kernel {platform.release()}, {platform.machine()}"
    yield f"python: {platform.python_version()}"
    warm = _read(place / "sys/class/thermal/thermal_zone0/temp")
    yield (
        f"processor: {int(warm) / 1000:.0f} degrees Celsius" if warm.isdigit() else f"processor: {NOT_KNOWN}"
    )
    throttled = _read(place / "sys/devices/platform/soc/soc:firmware/get_throttled")
    yield f"throttled: {throttled} (0: never since the start, neither by heat nor by a weak supply)"


def running(state: Mapping[str, str]) -> Iterator[str]:
    """The service: how soon it was ready, and what it takes."""
    ready = state.get("ActiveEnterTimestampMonotonic", "")
    yield f"from the kernel's start to ready: {_number(ready, 1e-6, 's')}"
    yield f"memory of the service: {_number(state.get('MemoryCurrent', ''), 2.0**-20, 'MiB')}"


def service_state(call: Call = systemctl) -> Mapping[str, str]:
    """What the service manager knows, asked before anything is stopped."""
    wanted = "ActiveEnterTimestampMonotonic,MemoryCurrent"
    lines = call(("show", UNIT, f"--property={wanted}")).splitlines()
    return dict(line.split("=", 1) for line in lines if "=" in line)


def costs() -> Iterator[str]:
    """What a second of sound and a picture cost this processor."""
    from dsp.synthesis import pluck  # noqa: PLC0415 - only here is it needed

    sound = pluck(Hz(440.0), NOTE_TIMED_S, REPORT_RATE_HZ)
    tracker = PitchTracker(REPORT_RATE_HZ, *Settings().tracking_range)
    blocks = [sound[k : k + REPORT_BLOCK] for k in range(0, len(sound), REPORT_BLOCK)]
    slowest = max(_spent(partial(tracker.feed, block)) for block in blocks)
    anew = PitchTracker(REPORT_RATE_HZ, *Settings().tracking_range)
    whole = _spent(lambda: [anew.feed(block) for block in blocks])
    share = whole / NOTE_TIMED_S
    yield f"hearing: {share:.3f} CPU seconds for a second of a pluck, slowest block {slowest:.3f} s"
    engine, at = box_engine(), Seconds(0.0)
    scene = scene_of(Settings(), engine.start(Settings(), at))
    drawing = _spent(lambda: [engine.draw(scene, Seconds(k)) for k in range(DRAWN)])
    yield f"drawing: {1000.0 * drawing / DRAWN:.1f} ms a picture"


def _spent(act: Callable[[], object]) -> float:
    """Seconds of the processor."""
    begun = time.process_time()
    act()
    return time.process_time() - begun


def _read(path: Path) -> str:
    """A line or a page the kernel or the system wrote, or that it is not known."""
    try:
        return path.read_text(encoding="utf-8", errors="replace").strip("\0\n ").replace('"', "") or NOT_KNOWN
    except OSError:
        return NOT_KNOWN


def _number(text: str, unit: float, name: str) -> str:
    """A count as the service manager gives it; it says [not set] where it counts nothing."""
    return f"{int(text) * unit:.1f} {name}" if text.isdigit() and int(text) > 0 else NOT_KNOWN
