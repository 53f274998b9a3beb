"""The box on a processor slowed several times: `python -m tests.slowed [--factor 9] [--minutes 10]`.

Talk, plucks and presses of 150 ms, one a second, through the whole box. The clock is the processor time
that the box itself takes, times the factor, so that what comes out does not depend on what else the
machine does; the sound and the looks at the buttons come at that clock's pace and cost nothing, as on
a board another chip makes the one and a thread of its own does the other. Prints what was dropped and
what was lost, and ends with status 1 if anything was. Needs espeak-ng and the benchmark's libraries.
"""

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence

import numpy as np

from device.config.settings import Settings
from device.events import Button, NextString, Plucked
from device.parts.button_sampler import LOOK_EVERY_S
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts, Snapshot
from dsp import Samples, Seconds
from tests.bench.hours import speech_pieces
from tests.soak import RATE, CountingPanel, Studio

PRESS_S = 0.15  # a child's tap
TALK_DBFS = -35.0  # RMS: talk beside the box, some 15 dB under a pluck
TALK_S = 60.0  # of talk, said again and again


class SlowedClock:
    """Processor time of this thread, times a factor, and what was slept."""

    def __init__(self, factor: float) -> None:
        self._factor, self._at, self._seen = factor, 0.0, time.thread_time()

    def now(self) -> Seconds:
        spent = time.thread_time()
        self._at += self._factor * (spent - self._seen)
        self._seen = spent
        return Seconds(self._at)

    def sleep(self, duration: Seconds) -> None:
        self._at = self.now() + duration

    def forget(self) -> None:
        """What was done since the clock was looked at last is no work of the box's."""
        self._seen = time.thread_time()


class TalkingStudio:
    """The soak's room with people who talk."""

    sample_rate_hz = RATE

    def __init__(self, clock: SlowedClock, seed: int) -> None:
        self.studio, self._clock, self._given = Studio(clock, seed), clock, 0
        pieces, talk, count = speech_pieces(seed, TALK_S), [], 0
        while count < TALK_S * RATE:
            talk.append(next(pieces))
            count += len(talk[-1])
        said = np.concatenate(talk)
        self._talk = (said * 10 ** (TALK_DBFS / 20) / np.std(said)).astype(np.float32)
        clock.forget()

    def read(self) -> Samples:
        self._clock.now()
        block = self.studio.read()
        block += np.take(self._talk, np.arange(self._given, self._given + len(block)), mode="wrap")
        self._given += len(block)
        self._clock.forget()
        return block

    def close(self) -> None:
        pass


class TappedButtons:
    """One press of the next button a second, looked at apart from the loop."""

    def __init__(self, clock: SlowedClock) -> None:
        self._clock, self._looked = clock, 0

    def down(self) -> Sequence[Button]:
        return tapped(self._clock.now())

    def sampled(self) -> Sequence[tuple[Seconds, Sequence[Button]]]:
        first, self._looked = self._looked, int(self._clock.now() / LOOK_EVERY_S)
        times = (Seconds(LOOK_EVERY_S * look) for look in range(first, self._looked))
        return [(at, tapped(at)) for at in times]

    def close(self) -> None:
        pass


def tapped(at: Seconds) -> Sequence[Button]:
    return (Button.NEXT,) if (at - 0.5) % 1.0 < PRESS_S and at > 0.5 else ()


def slowed(factor: float, minutes: float, seed: int) -> tuple[Counter[str], float, Snapshot]:
    """Run it: what was counted, the longest tick in seconds, and the last snapshot."""
    clock = SlowedClock(factor)
    room = TalkingStudio(clock, seed)
    counted: Counter[str] = Counter()
    last: list[Snapshot] = []
    ticks = [0.0, 0.0]  # when the one before was, and the longest

    def observe(snapshot: Snapshot) -> None:
        for event in snapshot.events:
            counted["presses"] += isinstance(event, NextString)
            counted["plucks"] += isinstance(event, Plucked)
        ticks[:] = snapshot.at, max(ticks[1], snapshot.at - ticks[0])
        last[:] = [snapshot]

    parts = Parts(clock, room, TappedButtons(clock), CountingPanel())
    run(parts, Settings(), box_engine(), observe=observe, stop=lambda: clock.now() >= 60.0 * minutes)
    counted["made"] = int(last[0].at - 0.5 - PRESS_S) + 1
    return counted, ticks[1], last[0]


def main() -> int:
    parser = argparse.ArgumentParser(description="The box on a processor slowed several times.")
    parser.add_argument("--factor", type=float, default=9.0)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    begun = time.process_time()
    counted, longest, last = slowed(asked.factor, asked.minutes, asked.seed)
    lost = counted["made"] - counted["presses"]
    print(
        f"{asked.minutes:g} minutes slowed {asked.factor:g} times: {counted['made']} presses of "
        f"{1000 * PRESS_S:.0f} ms, {lost} lost; {last.health.dropped_s:.1f} s of sound dropped; "
        f"{counted['plucks']} soundings told; longest tick {longest:.2f} s; "
        f"{(time.process_time() - begun) / (60.0 * asked.minutes):.3f} CPU seconds a second with the room's"
    )
    return int(lost > 0 or last.health.dropped_s > 0.0)


if __name__ == "__main__":
    sys.exit(main())
