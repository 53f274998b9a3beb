"""Row on what the tracker costs: CPU seconds and instructions for a second of audio, and memory."""

import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from typing import Protocol

import numpy as np

from device.config.settings import Settings
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts
from dsp import Hz, Instrument, PitchTracker, Samples, Seconds
from dsp.synthesis import Manner, pluck, white_noise
from tests.bench.common import BLOCK, RATE, Sizes, names, open_frequency, readings, wall_range
from tests.bench.peers import available
from tests.bench.report import Table
from tests.slowed import SlowedClock
from tests.soak import CountingPanel
from tests.stand_ins import ToldButtons

PROBE = (
    "import sys, numpy as np\nfrom tests.bench.cost import probe\nprobe(float(sys.argv[1]), sys.argv[2])\n"
)

FILE_PROBE = "import sys\nfrom tests.bench.cost import probe_file\nprobe_file(*sys.argv[1:])\n"


class Sounding(Protocol):
    """Anything that makes a sound for an instrument's range."""

    @property
    def instrument(self) -> Instrument: ...

    def sound(self, seconds: float) -> Samples: ...


def plucked_sound(seconds: float) -> Samples:
    """An open string every 1.5 s at 30 dB, as at a lesson."""
    sound = np.float32(0.003) * white_noise(round(seconds * RATE), 10_000)
    strings = names(Instrument.VIOLIN)
    for i, start in enumerate(np.arange(0.3, seconds - 0.5, 1.5)):
        pitch = open_frequency(Instrument.VIOLIN, strings[i % 4])
        first = round(start * RATE)
        note = pluck(Hz(pitch), Seconds(min(1.5, seconds - start)), RATE, manner=Manner(), seed=i)
        sound[first : first + note.size] += note[: sound.size - first]
    return sound


def quiet_sound(seconds: float) -> Samples:
    return np.float32(0.0002) * white_noise(round(seconds * RATE), 10_000)


SOUNDS: dict[str, Callable[[float], Samples]] = {
    "a pluck every 1.5 s": plucked_sound,
    "a quiet room": quiet_sound,
}


def probe(seconds: float, label: str) -> None:
    """Run the tracker once, for callgrind; the sound is cut from one that is always as long."""
    sound = SOUNDS[label](12.0)[: round(seconds * RATE)]
    readings(sound, wall_range(Instrument.VIOLIN))


def cost(sizes: Sizes) -> list[Table]:
    return [_ours(sizes), _methods(sizes)]


def _ours(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for label, make in SOUNDS.items():
        sizes.progress(f"cost: {label}")
        seconds = 1.5 * sizes.of(40)
        sound = make(seconds)
        readings(sound[: round(3 * RATE)], wall_range(Instrument.VIOLIN))
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        start = time.process_time()
        for _ in range(3):
            readings(sound, wall_range(Instrument.VIOLIN))
        spent = (time.process_time() - start) / (3 * seconds)
        grown = (resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) / 1024.0
        rows.append((label, 3 * seconds, spent, _slowest_block_ms(sound), instructions(label, sizes), grown))
    columns = (
        "sound",
        "seconds",
        "CPU s per s",
        "slowest 10 ms block, ms",
        "million instructions per s",
        "memory grown, MB",
    )
    goal = "at most 0.02 CPU seconds per second of audio; flat memory"
    return Table("cost", "Cost of the tracker", goal, columns, tuple(rows))


def _slowest_block_ms(sound: Samples) -> float:
    tracker, slowest = PitchTracker(RATE, *wall_range(Instrument.VIOLIN)), 0.0
    for first in range(0, sound.size, BLOCK):
        start = time.process_time()
        tracker.feed(sound[first : first + BLOCK])
        slowest = max(slowest, time.process_time() - start)
    return 1000.0 * slowest


def instructions(label: str, sizes: Sizes) -> float | None:
    """Millions of instructions for a second of audio: the difference of two lengths under callgrind."""
    if shutil.which("valgrind") is None or sizes.scale < 0.2:
        return None
    short, long = 3.0, 9.0
    return (_counted(long, label) - _counted(short, label)) / (long - short) / 1e6


def counted_per_second(source: "Sounding") -> float | None:
    """Millions of instructions that a second of any sound costs; None without valgrind."""
    if shutil.which("valgrind") is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        counts = []
        for seconds in (2.0, 6.0):
            path = f"{folder}/{seconds:g}.npy"
            np.save(path, source.sound(6.0)[: round(seconds * RATE)])
            counts.append(_callgrind(FILE_PROBE, path, source.instrument.value))
    return (counts[1] - counts[0]) / 4.0 / 1e6


def probe_file(path: str, instrument: str) -> None:
    """Play a sound that was saved to the whole box, for callgrind."""
    sound, clock = np.load(path), SlowedClock(0.0)
    settings = Settings(instrument=Instrument(instrument))
    parts = Parts(clock, SavedSound(clock, sound), ToldButtons(), CountingPanel())
    run(parts, settings, box_engine(), stop=lambda: clock.now() * RATE >= sound.size)


class SavedSound:
    """A microphone that hears a sound that was saved, at the clock's pace."""

    sample_rate_hz = RATE

    def __init__(self, clock: SlowedClock, sound: Samples) -> None:
        self._clock, self._sound, self._given = clock, sound, 0

    def read(self) -> Samples:
        until = int(self._clock.now() * RATE)
        block, self._given = self._sound[self._given : until], until
        return block

    def close(self) -> None:
        pass


def _counted(seconds: float, label: str) -> int:
    return _callgrind(PROBE, str(seconds), label)


def _callgrind(program: str, *arguments: str) -> int:
    command = [
        "valgrind",
        "--tool=callgrind",
        "--callgrind-out-file=/dev/null",
        sys.executable,
        "-c",
        program,
    ]
    done = subprocess.run([*command, *arguments], capture_output=True, text=True, check=True)
    found = re.search(r"Collected : (\d+)", done.stderr)
    if found is None:
        raise RuntimeError(f"callgrind said no count: {done.stderr[-300:]}")
    return int(found.group(1))


def _methods(sizes: Sizes) -> Table:
    """Every method over the same minute, in windows of 0.3 s every 0.1 s as a screen would need."""
    seconds = 1.5 * sizes.of(8)
    sound = plucked_sound(seconds)
    rows: list[tuple[object, ...]] = []
    start = time.process_time()
    readings(sound, wall_range(Instrument.VIOLIN))
    rows.append(("Wallpeg, block by block", (time.process_time() - start) / seconds))
    window, step = round(0.3 * RATE), round(0.1 * RATE)
    for method, estimate in available().items():
        sizes.progress(f"cost: {method}")
        estimate(sound[:window], RATE, *wall_range(Instrument.VIOLIN))
        start = time.process_time()
        for first in range(0, sound.size - window, step):
            estimate(sound[first : first + window], RATE, *wall_range(Instrument.VIOLIN))
        rows.append((method, (time.process_time() - start) / seconds))
    goal = "the others look at the last 0.3 s ten times a second"
    return Table("cost_methods", "Methods side by side: cost", goal, ("method", "CPU s per s"), tuple(rows))
