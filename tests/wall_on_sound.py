"""Runs a box with the real microphone part, signal path and clock; its panel keeps the pictures.

Run as a program of its own, so that a sound library that hangs hangs nobody else. It prints one
JSON object a line: the time of day in seconds, and what changed.
"""

import json
import sys
import time
from collections import deque

from device.config.settings import Settings
from device.parts.clock import MonotonicClock
from device.parts.microphone import MicrophoneSeeker
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Environment, Parts, Reopen


class ToldPanel:
    """Knows whether it was shown a picture since it was asked last."""

    size = (128, 64)

    def __init__(self):
        self._shown = False

    def show(self, _picture):
        self._shown = True

    def shown(self):
        before, self._shown = self._shown, False
        return before

    def close(self):
        pass


class WatchedMicrophone:
    """Says when sound leaps up, and what came out is still the real microphone's."""

    def __init__(self, microphone):
        self.real, self.peaks = microphone, deque([0.0], maxlen=10)

    @property
    def sample_rate_hz(self):
        return self.real.sample_rate_hz

    def read(self):
        block = self.real.read()
        if len(block) > 0:
            peak, before = float(abs(block).max()), max(self.peaks)
            if peak > max(LOUD, LEAP * before):
                say(sound=True)
            self.peaks.append(peak)
        return block

    def close(self):
        self.real.close()


def say(**what):
    print(json.dumps({"time": time.time(), **what}), flush=True)


LOUD = 0.003  # of full scale; a pluck begins far above
LEAP = 1.5  # over the loudest of the last ten blocks: a pluck over a string that rings on


def main(name: str, seconds: float) -> None:
    panel, seen = ToldPanel(), {}
    end = time.monotonic() + seconds
    seek = MicrophoneSeeker(name, 48000, 1)

    def observe(snapshot):
        coach = snapshot.coach
        now = {
            "fault": snapshot.scene.fault and snapshot.scene.fault.value,
            "string": coach.string,
            "phase": coach.phase.value,
            "say": coach.advice.say.value,
            "direction": coach.advice.direction.value,
            "cents": coach.cents and round(coach.cents, 2),
        }
        changed = {key: value for key, value in now.items() if seen.get(key, "-") != value}
        seen.update(now)
        if changed:
            say(**changed)
        if panel.shown():  # after what changed, so that a picture of it is always said later
            say(picture=True)

    run(
        Parts(MonotonicClock(), None, None, panel),
        Settings(),
        box_engine(),
        reopen=Reopen(microphone=lambda: WatchedMicrophone(seek())),
        environment=Environment(note=lambda sentence: say(note=sentence)),
        observe=observe,
        stop=lambda: time.monotonic() > end,
    )
    say(ended=True)


if __name__ == "__main__":
    import os

    main(sys.argv[1], float(sys.argv[2]))
    os._exit(0)
