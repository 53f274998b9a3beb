"""Simulated practices: how many notes of each kind of player Read and Count judge right.

In one run of `REAL_EVERY` the sound is made and heard by the real signal path; in the others the tracker's
measured errors stand in, and strokes are known to within `STROKE_ERROR_S`.
"""

import random
from dataclasses import dataclass

from demo.lessons.courses import TableReadings
from demo.lessons.ears import ReadingSource, Sound, TrackerReadings
from demo.players.actions import Pluck
from demo.practice_players import PRACTICE_PLAYERS, PracticePlayer, note_played, strokes_played
from demo.room import RATE_HZ, Room
from device.config.practice_settings import CountStep, ReadStep
from device.config.settings import Settings
from device.events import Button, Pressed, Struck, Tick
from device.practice.count.session import CountPhase, CountState, count_after, count_begun
from device.practice.count.timing import Timing
from device.practice.read.session import NoteMark, ReadPhase, ReadState, read_after, read_begun
from dsp import Seconds
from dsp.attacks import AttackWatch

REAL_EVERY = 7  # shares no factor with the number of steps, so that every step is heard
STROKE_ERROR_S = 0.0025  # one frame of `dsp.attacks`
PRACTICE_TICK_S = 0.02
TRIES_A_NOTE = 3  # of one note, then the button for the next
BARS_ASKED = 8
LISTENS_S = Seconds(0.9)
_GIVES_UP_S = 120.0


@dataclass(frozen=True, slots=True)
class PracticeRow:
    """What came of all runs of one player; shares from 0 to 1."""

    player: str
    runs: int
    real_runs: int
    wanted: int  # notes that were asked for
    right_share: float
    extra: int  # strokes that belonged to no note; 0 in Read

    def fields(self) -> dict[str, object]:
        """The row as it is written in JSON."""
        return {name: getattr(self, name) for name in self.__slots__}


def practice_row(
    practice: str, player: str, runs: int, seed: int, *, real: bool | None = None
) -> PracticeRow:
    """Play all runs of one player; `real` True or False makes all of them so."""
    wanted = right = extra = heard = 0
    for run in range(runs):
        rng = random.Random(f"{seed}/{practice}/{player}/{run}")
        is_real = run % REAL_EVERY == 0 if real is None else real
        play = _read_run if practice == "read" else _count_run
        one = play(PRACTICE_PLAYERS[player], rng, run, is_real)
        wanted, right, extra, heard = wanted + one[0], right + one[1], extra + one[2], heard + is_real
    return PracticeRow(player, runs, heard, wanted, round(right / wanted, 4) if wanted else 0.0, extra)


def _read_run(player: PracticePlayer, rng: random.Random, run: int, real: bool) -> tuple[int, int, int]:
    """Ten notes of one step; notes asked for, right at the first go, and 0."""
    settings = Settings(read_step=tuple(ReadStep)[run % len(ReadStep)], steps_move=False)
    ears: ReadingSource = TrackerReadings(settings, rng.randrange(1 << 30)) if real else TableReadings(rng)
    now, plucks, tries = rng.uniform(0.5, 60.0), 0, 0
    state = read_begun(settings, Seconds(now))
    while state.phase is not ReadPhase.SUMMARY:
        answered = len(state.marks)
        if player.stops_after is not None and answered >= player.stops_after:
            return 10, _right(state), 0
        now, plucks, tries = now + 0.3, plucks + 1, tries + 1
        state = _played(state, player, ears, now, plucks, settings, rng)
        now += 2.0
        state = _ticked(state, now, settings)
        if len(state.marks) == answered and tries >= TRIES_A_NOTE:
            state = read_after(state, Pressed(Seconds(now), Button.NEXT), settings)
        tries = tries if len(state.marks) == answered else 0
    return len(state.marks), _right(state), 0


def _played(  # noqa: PLR0913, PLR0917 - one pluck of one player
    state: ReadState,
    player: PracticePlayer,
    ears: ReadingSource,
    now: float,
    plucks: int,
    settings: Settings,
    rng: random.Random,
) -> ReadState:
    pitch = note_played(player, state, settings.reference_hz, rng)
    sound = Sound(Seconds(now), Pluck("", LISTENS_S), (pitch,))
    for reading in ears.of(sound, plucks):
        state = read_after(state, reading, settings)
    return state


def _ticked(state: ReadState, now: float, settings: Settings) -> ReadState:
    return read_after(state, Tick(Seconds(now)), settings)


def _right(state: ReadState) -> int:
    return sum(mark in {NoteMark.RIGHT, NoteMark.TOLD} for mark in state.marks)


def _count_run(player: PracticePlayer, rng: random.Random, run: int, real: bool) -> tuple[int, int, int]:
    """Some bars of one step; notes asked for, right ones, and strokes too many."""
    settings = Settings(count_step=tuple(CountStep)[run % len(CountStep)], steps_move=False)
    ears = _AttackEars(settings, rng, real)
    now = rng.uniform(0.5, 60.0)
    state = count_begun(settings, Seconds(now))
    state = count_after(state, Struck(Seconds(now + 0.5), -20.0), settings)
    wanted = right = extra = 0
    for bar in range(BARS_ASKED):
        strokes = strokes_played(player, state, rng)
        if player.stops_after is not None and bar >= player.stops_after:
            strokes = ()
        state = ears.bar(state, strokes, settings)
        wanted += len(state.wanted_s)
        if state.judged is None:
            return wanted + (BARS_ASKED - bar - 1) * len(state.wanted_s), right, extra
        right += sum(timing is Timing.RIGHT for timing in state.judged.timings)
        extra += len(state.judged.extra_s)
        state = _until(state, settings, {CountPhase.COUNTING_IN})
    return wanted, right, extra


class _AttackEars:
    """Hears the strokes of one bar: by the real watch for attacks, or nearly as they were made."""

    def __init__(self, settings: Settings, rng: random.Random, real: bool) -> None:
        self._rng, self._real = rng, real
        self._lowest = min(settings.targets.values())
        self._pitches = tuple(settings.targets.values())

    def bar(self, state: CountState, strokes: tuple[Seconds, ...], settings: Settings) -> CountState:
        """The state once the bar was judged, or waits because nothing was heard."""
        first_beat = state.since + state.bar_s
        heard = self._heard(strokes) if self._real else self._known(strokes)
        for at, level in heard:
            moment = Seconds(first_beat + at)
            state = count_after(state, Tick(moment), settings) if moment > state.now else state
            state = count_after(state, Struck(moment, level), settings)
        return _until(state, settings, {CountPhase.TOLD, CountPhase.READY})

    def _known(self, strokes: tuple[Seconds, ...]) -> list[tuple[float, float]]:
        return [(stroke + self._rng.gauss(0.0, STROKE_ERROR_S), -20.0) for stroke in strokes]

    def _heard(self, strokes: tuple[Seconds, ...]) -> list[tuple[float, float]]:
        lead = 1.0
        room = Room(RATE_HZ, self._rng.randrange(1 << 30))
        pitch = self._rng.choice(self._pitches)
        for stroke in strokes:
            room.pluck(Seconds(lead + stroke), pitch)
        until = round((lead + (strokes[-1] if strokes else 0.0) + 0.5) * RATE_HZ)
        found = AttackWatch(RATE_HZ, self._lowest).feed(room.sound(0, until))
        return [(attack.time_s - lead, attack.level_dbfs) for attack in found]


def _until(state: CountState, settings: Settings, phases: set[CountPhase]) -> CountState:
    """Let time pass until one of the phases is reached."""
    begun = state.now
    while state.phase not in phases and state.now - begun < _GIVES_UP_S:
        state = count_after(state, Tick(Seconds(state.now + PRACTICE_TICK_S)), settings)
    return state
