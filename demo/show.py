"""`wallpeg demo`: the real loop, tracker, coach and screen, with stand-ins for the parts.

In a terminal it draws the panel; elsewhere it prints a line per event. Either way the last thing is
a table of the strings.
"""

import os
import random
import signal
import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace

from PIL import Image

from demo.director import Director
from demo.journal import Journal, SummaryRow, rows_heard
from demo.lessons.cells import pegbox_of
from demo.mechanics.instrument import errors
from demo.mechanics.starts import found
from demo.parts import KeptPanel, KeyButtons, RoomMicrophone, SteppedClock
from demo.players.characters import CHARACTERS
from demo.players.player import Player
from demo.practice_players import PracticePlayer
from demo.practice_pupil import PracticePupil
from demo.room import Room
from demo.scenario import Pupil, build_of
from demo.terminal import LEAVING, EndedError, Screenful, TerminalPanel, buttons_of
from device.config.settings import Settings
from device.events import Plucked
from device.ports import Clock, Microphone, Panel
from device.runtime.box_state import box_engine
from device.runtime.loop import run
from device.runtime.loop_interface import Parts, Snapshot
from dsp import Seconds

SAMPLE_RATE_HZ = 48_000  # what most sound cards give
LONGEST_SHOW_S = Seconds(56.0)  # a simulated lesson ends within a minute, whatever happens
LONGEST_FAST_S = Seconds(480.0)  # of simulated time, where that costs no waiting
Ended = Callable[[Snapshot], bool]


@dataclass(frozen=True, slots=True)
class Stage:
    """What a run of the box needs: where sound comes from, who watches, when it is over."""

    microphone: Microphone
    buttons: KeyButtons
    watch: Callable[[Snapshot], None]
    over: Ended
    rows: Callable[[Snapshot], tuple[SummaryRow, ...]]


class Panels:
    """Several panels that show the same."""

    def __init__(self, *panels: Panel) -> None:
        self._panels = panels

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self._panels[0].size

    def show(self, picture: Image.Image) -> None:
        """Show `picture` on each."""
        for panel in self._panels:
            panel.show(picture)

    def close(self) -> None:
        """Let go of each."""
        for panel in self._panels:
            panel.close()


class Show:
    """One run of the box before an audience.

    `kept` holds every picture afterwards. Where stdout is a terminal the panel is drawn into it and
    keys are buttons, else there is a line per event.
    """

    def __init__(self, clock: Clock, settings: Settings, tell_plucks: bool) -> None:
        self.kept = KeptPanel(clock)
        self.journal = Journal(settings, self._line, tell_plucks)
        self._clock, self._settings = clock, settings
        self._terminal = TerminalPanel(sys.stdout) if _can_draw() else None
        self._left = False
        self.status = 0

    def run(self, stage: Stage) -> tuple[SummaryRow, ...]:
        """Run the box until the stage says it is over, or somebody leaves; the strings at the end.

        Ctrl-C or a signal ends it too, and sets `status` as shells count: 128 and the signal's number.
        """
        panels: Sequence[Panel] = (self.kept,) if self._terminal is None else (self.kept, self._terminal)
        last: list[Snapshot] = []
        with ExitStack() as stack:
            screenful = None
            if self._terminal is not None:
                screenful = stack.enter_context(Screenful(sys.stdout, self._terminal.refresh))

            def observe(snapshot: Snapshot) -> None:
                last[:] = [snapshot]
                stage.watch(snapshot)
                self._audience(snapshot, stage.buttons, screenful)

            with self._interruptible():
                run(
                    Parts(self._clock, stage.microphone, stage.buttons, Panels(*panels)),
                    self._settings,
                    box_engine(),
                    observe=observe,
                    stop=lambda: self._left or (bool(last) and stage.over(last[0])),
                )
        return stage.rows(last[0]) if last else ()

    @contextmanager
    def _interruptible(self) -> Iterator[None]:
        try:
            yield
        except EndedError as ended:
            self.status = 128 + ended.number
        except KeyboardInterrupt:
            self.status = 128 + signal.SIGINT

    def _audience(self, snapshot: Snapshot, buttons: KeyButtons, screenful: Screenful | None) -> None:
        self.journal.watch(snapshot)
        if screenful is None:
            return
        for key in screenful.typed():
            down, hold_s = buttons_of(key)
            buttons.press(*down, hold_s=hold_s)
            self._left = self._left or key in LEAVING

    def _line(self, line: str) -> None:
        if self._terminal is None:
            print(line, flush=True)
        else:
            self._terminal.below = (self._terminal.below[1], line)
            self._terminal.refresh()


def _can_draw() -> bool:
    """Whether stdout is a terminal that can move its cursor."""
    return sys.stdout.isatty() and os.environ.get("TERM", "dumb") != "dumb"


def simulated(show: Show, clock: Clock, settings: Settings, pupil: Pupil, seed: int) -> Stage:
    """A simulated pupil with a simulated instrument."""
    instrument = found(pupil.start, build_of(settings), settings.targets, random.Random(seed))
    room = Room(SAMPLE_RATE_HZ, seed)
    buttons = KeyButtons(clock)
    names = tuple(settings.targets)
    character = replace(CHARACTERS[pupil.character], grown_up_comes=pupil.pegs)
    player = Player(character, pegbox_of(settings, instrument), random.Random(seed + 1))
    director = Director(
        player,
        instrument,
        room,
        buttons,
        show.journal.tell,
        goals=settings.targets,
        chord_s=settings.chord_s,
    )
    before = errors(instrument, settings.targets)

    def rows(_moment: Snapshot) -> tuple[SummaryRow, ...]:
        after = errors(director.instrument, settings.targets)
        return tuple(SummaryRow(name, before[name], after[name], director.plucks[name]) for name in names)

    longest = LONGEST_FAST_S if isinstance(clock, SteppedClock) else LONGEST_SHOW_S

    def over(snapshot: Snapshot) -> bool:
        return snapshot.at > longest or (director.over_at is not None and snapshot.at >= director.over_at)

    return Stage(RoomMicrophone(room, clock), buttons, director.watch, over, rows)


def practised(  # noqa: PLR0913 - what a practice needs, by keyword
    show: Show, clock: Clock, settings: Settings, *, practice: str, player: PracticePlayer, seed: int
) -> Stage:
    """A simulated pupil whose strings are in tune goes on to a practice."""
    room, buttons = Room(SAMPLE_RATE_HZ, seed), KeyButtons(clock)
    rng = random.Random(f"{seed}/{practice}")
    pupil = PracticePupil(practice, player, room, buttons, settings, show.journal.tell, rng)
    return Stage(RoomMicrophone(room, clock), buttons, pupil.watch, pupil.over, lambda _snapshot: ())


def stage_of_sound(microphone: Microphone, clock: Clock, over: Ended) -> Stage:
    """Real sound: a live microphone or a recording; the table is what the box heard."""
    plucks: Counter[str] = Counter()
    asked = ""

    def watch(snapshot: Snapshot) -> None:
        nonlocal asked  # the string that was asked for when it was plucked
        plucks[asked or snapshot.coach.string] += sum(isinstance(e, Plucked) for e in snapshot.events)
        asked = snapshot.coach.advice.string or snapshot.coach.string

    return Stage(
        microphone, KeyButtons(clock), watch, over, lambda snapshot: rows_heard(snapshot.coach, plucks)
    )
