"""What a second of sound costs the whole box, in instructions counted by callgrind (valgrind.org).

Sound, tracker, lesson, screen and panel as on the wall, on a clock that does not wait. All sounds are heard
in one process, each by a box of its own. The first second of each is left out, with what a box does only
once, and one round is counted. It counts instructions of the machine the test runs on: good for seeing a
change, not for a board's milliseconds.
"""

import ctypes
import os
import re
import shutil
import subprocess
import sys
from functools import lru_cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest

from device.config.settings import Settings
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts
from dsp import Samples, Seconds
from dsp.synthesis import pluck, white_noise
from tests.bench import rooms
from tests.bench.hours import speech_pieces
from tests.stand_ins import KeepingPanel, SteppedClock, ToldButtons

RATE = 48000  # Hz, as on the wall
ROUND_S = 4.0  # of sound, heard again and again
LEFT_OUT_S = 1.0  # of it before counting begins

MOST = {"plucks": 277.0, "a quiet room": 58.0, "knocks": 150.0, "speech": 207.0, "claps": 150.0}
"""Million instructions a second of sound: 1.1 times what was measured, 252, 53, 136, 188 and 136."""


def sound(name: str) -> Samples:
    """One round: each string of a violin once, 1 s of each; the room's noise; knocks; speech; or claps."""
    if name == "plucks":
        plucks = [pluck(hz, Seconds(ROUND_S / 4), RATE, seed=7) for hz in Settings().targets.values()]
        return np.concatenate(plucks)
    if name == "speech":
        pieces, said = speech_pieces(77, ROUND_S), np.zeros(0, np.float32)
        while said.size < ROUND_S * RATE:
            said = np.concatenate([said, next(pieces)])
        return said[: round(ROUND_S * RATE)]
    if name == "claps":
        # scipy calls C functions by `ctypes` while it is imported, which where it is counted would be marks.
        from tests.bench import unplucked_sounds  # noqa: PLC0415 - not where it is counted

        return next(unplucked_sounds.claps(31))[1][: round(ROUND_S * RATE)]
    if name == "knocks":
        return np.asarray(rooms.knocks(round(ROUND_S * RATE), 31), np.float32)
    return np.float32(2e-4) * white_noise(round(ROUND_S * RATE), 31)


class Round:
    """A microphone that hears the same few seconds again and again."""

    sample_rate_hz = RATE

    def __init__(self, clock: SteppedClock, heard_again: Samples) -> None:
        self._clock, self._given, self._sound = clock, 0, heard_again

    def read(self) -> Samples:
        until = int(self._clock.now() * RATE)
        block = np.take(self._sound, np.arange(self._given, until), mode="wrap")
        self._given = until
        return block

    def close(self) -> None:
        pass


def heard(*paths: str) -> None:
    """What is counted: a box hears each of these sounds, with a mark before and after one round of it."""
    for path in paths:
        hear(np.load(path))


def hear(sound_of_a_round: Samples) -> None:
    clock, marked = SteppedClock(), 0

    def stop() -> bool:
        nonlocal marked
        if clock.time >= LEFT_OUT_S + marked * ROUND_S:
            marked += 1
            mark()
        return marked == 2

    parts = Parts(clock, Round(clock, sound_of_a_round), ToldButtons(), KeepingPanel())
    run(parts, Settings(), box_engine(), stop=stop)


def mark() -> None:
    """Have callgrind end a part of its count: it does so before each call of a C function by `ctypes`."""
    ctypes.pythonapi.Py_IsInitialized()


def counted(names: list[str]) -> dict[str, float]:
    """Million instructions for a second of each sound."""
    program = "import sys; from tests.test_cost import heard; heard(*sys.argv[1:])"
    with TemporaryDirectory() as folder:
        paths = [f"{folder}/{index}.npy" for index in range(len(names))]
        for name, path in zip(names, paths, strict=True):
            np.save(path, sound(name))
        tool = (
            "valgrind",
            "--tool=callgrind",
            f"--callgrind-out-file={folder}/out",
            "--dump-before=ffi_call",
        )
        subprocess.run(
            [*tool, sys.executable, "-c", program, *paths],
            cwd=Path(__file__).parent.parent,
            env={**os.environ, "PYTHONHASHSEED": "0", "OPENBLAS_NUM_THREADS": "1"},
            capture_output=True,
            check=True,
        )
        # Parts are counted from 1, and every second one is what lies between two marks of one sound; what
        # comes after the last mark has no number.
        assert len(list(Path(folder).glob("out.*"))) == 2 * len(names), "something else was taken for a mark"
        return {
            name: _total(Path(f"{folder}/out.{2 * i + 2}")) / ROUND_S / 1e6 for i, name in enumerate(names)
        }


def _total(part: Path) -> int:
    found = re.search(r"^totals: (\d+)$", part.read_text(errors="replace"), re.MULTILINE)
    assert found, part
    return int(found.group(1))


@lru_cache(maxsize=1)
def everything() -> dict[str, float]:
    """The counts of all sounds that can be made here."""
    return counted([name for name in MOST if name != "speech" or shutil.which("espeak-ng")])


@pytest.mark.heavy
@pytest.mark.parametrize("name", MOST)
@pytest.mark.skipif(shutil.which("valgrind") is None, reason="not installed: valgrind")
def test_a_second_of_sound_costs_the_whole_box_no_more_than_it_did(name):
    if name == "speech" and shutil.which("espeak-ng") is None:
        pytest.skip("not installed: espeak-ng")
    million = everything()[name]
    print(f"the whole box, {name}: {million:.0f} million instructions a second of sound")
    assert million < MOST[name]
