"""What a second of sound costs the whole box, in instructions counted by callgrind (valgrind.org).

Sound, tracker, lesson, screen and panel as on the wall, on a clock that does not wait. Two lengths
are counted and the difference taken, so that starting up drops out. It counts instructions of the
machine the test runs on: good for seeing a change, not for a board's milliseconds.
"""

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

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

MOST = {"plucks": 295.0, "a quiet room": 58.0, "knocks": 150.0, "speech": 210.0}
"""Million instructions a second of sound: 1.15 times what was measured, 256, 51, 130 and 182."""


def sound(name: str) -> Samples:
    """One round: each string of a violin once, 1 s of each; the room's noise; knocks; or speech."""
    if name == "plucks":
        plucks = [pluck(hz, Seconds(ROUND_S / 4), RATE, seed=7) for hz in Settings().targets.values()]
        return np.concatenate(plucks)
    if name == "speech":
        pieces, said = speech_pieces(77, ROUND_S), np.zeros(0, np.float32)
        while said.size < ROUND_S * RATE:
            said = np.concatenate([said, next(pieces)])
        return said[: round(ROUND_S * RATE)]
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


def heard(name: str, seconds: float) -> None:
    """What is counted."""
    clock = SteppedClock()
    parts = Parts(clock, Round(clock, sound(name)), ToldButtons(), KeepingPanel())
    run(parts, Settings(), box_engine(), stop=lambda: clock.time >= seconds)


def counted(name: str, seconds: float) -> int:
    """Instructions of a process that hears so many seconds."""
    program = f"from tests.test_cost import heard; heard({name!r}, {seconds})"
    tool = ("valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null")
    done = subprocess.run(
        [*tool, sys.executable, "-c", program],
        cwd=Path(__file__).parent.parent,
        env={**os.environ, "PYTHONHASHSEED": "0", "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=True,
    )
    found = re.search(r"Collected : (\d+)", done.stderr)
    assert found, done.stderr[-500:]
    return int(found.group(1))


@pytest.mark.heavy
@pytest.mark.parametrize("name", MOST)
@pytest.mark.skipif(shutil.which("valgrind") is None, reason="not installed: valgrind")
def test_a_second_of_sound_costs_the_whole_box_no_more_than_it_did(name):
    if name == "speech" and shutil.which("espeak-ng") is None:
        pytest.skip("not installed: espeak-ng")
    million = (counted(name, 2 * ROUND_S) - counted(name, ROUND_S)) / ROUND_S / 1e6
    print(f"the whole box, {name}: {million:.0f} million instructions a second of sound")
    assert million < MOST[name]
