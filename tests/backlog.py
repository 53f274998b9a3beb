"""How far a slow processor falls behind the sound: `python -m tests.backlog [--factor 9] [--minutes 10]`.

Talk, plucks and presses (`tests.slowed`) are heard by the whole box block by block, at the sound's own pace,
and the processor time that each block takes is kept. The same sound is heard more than once and the least
time of each block counts, so that other work on the machine shows little. These times, so many times longer,
are then put through a queue: a block of 10 ms comes every 10 ms and waits until those before it are done.
Prints the mean load, the longest wait, and how much sound would be dropped. Needs espeak-ng.
"""

import argparse
import sys
import time
from collections.abc import Sequence

import numpy as np

from device.config.settings import Settings
from device.runtime.audio_in import BACKLOG_LIMIT_S
from device.runtime.box_state import box_engine
from device.runtime.loop import TICK_S, run
from device.runtime.loop_interface import Parts, Snapshot
from dsp import Samples
from dsp.reading import Signal
from tests.slowed import SlowedClock, TalkingStudio, TappedButtons
from tests.soak import CountingPanel


class TimedRoom:
    """A room whose sound is made on time that does not count."""

    def __init__(self, room: TalkingStudio) -> None:
        self._room, self.sample_rate_hz, self.took_s = room, room.sample_rate_hz, 0.0

    def read(self) -> Samples:
        start = time.thread_time()
        block = self._room.read()
        self.took_s += time.thread_time() - start
        return block

    def close(self) -> None:
        self._room.close()


def spent_on_blocks(minutes: float, seed: int) -> Signal:
    """Processor seconds that each block of the sound takes the whole box, shape (n,)."""
    clock = SlowedClock(0.0)  # it moves by what is slept alone: the sound comes at its own pace
    room = TimedRoom(TalkingStudio(clock, seed))
    spent: list[float] = []
    since = [time.thread_time()]

    def observe(_snapshot: Snapshot) -> None:
        now = time.thread_time()
        spent.append(now - since[0] - room.took_s)
        room.took_s, since[0] = 0.0, time.thread_time()

    parts = Parts(clock, room, TappedButtons(clock), CountingPanel())
    run(parts, Settings(), box_engine(), observe=observe, stop=lambda: clock.now() >= 60.0 * minutes)
    return np.array(spent)


def waits(spent_s: Sequence[float] | Signal, block_s: float) -> Signal:
    """How long each block waits until those before it are done with, shape (n,), in seconds.

    One comes every `block_s`; each takes what `spent_s` says (D. V. Lindley, The theory of queues with a
    single server, Proceedings of the Cambridge Philosophical Society 48, 1952).
    """
    waited = [0.0]
    for spent in spent_s[:-1]:
        waited.append(max(0.0, waited[-1] + float(spent) - block_s))
    return np.array(waited)


def dropped_s(spent_s: Sequence[float] | Signal, block_s: float, limit_s: float) -> float:
    """Seconds of sound that are dropped: whatever has queued, each time that it is longer than `limit_s`."""
    behind = lost = 0.0
    for spent in spent_s:
        behind = max(0.0, behind + float(spent) - block_s)
        if behind > limit_s:
            lost, behind = lost + behind, 0.0
    return lost


def main() -> int:
    parser = argparse.ArgumentParser(description="How far a slow processor falls behind the sound.")
    parser.add_argument("--factor", type=float, default=9.0)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--repeats", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    spent = np.min([spent_on_blocks(asked.minutes, asked.seed) for _ in range(asked.repeats)], axis=0)
    slow = asked.factor * spent
    lost = dropped_s(slow, TICK_S, BACKLOG_LIMIT_S)
    print(
        f"{asked.minutes:g} minutes, {asked.factor:g} times slower than here:"
        f" load {slow.mean() / TICK_S:.3f} of a core;"
        f" longest wait {waits(slow, TICK_S).max():.3f} s of {BACKLOG_LIMIT_S:g} allowed;"
        f" dearest block {1000.0 * slow.max():.0f} ms; {lost:.2f} s dropped"
    )
    return int(lost > 0.0)


if __name__ == "__main__":
    sys.exit(main())
