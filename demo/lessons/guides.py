"""What a simulated player looks at: the box's lesson, or a bare number of cents.

The bare number stands for a display that shows the string asked for and how many cents off the last
pluck was, and nothing else. How a player acts on it (invented, and meant kindly): within the
tolerance they go on to the next string; up to 50 cents they take the fine tuner, beyond it the
peg; the hand turns the further the larger the number. That a screw raises clockwise they know four
times out of five; of a peg they try one way, and the other when the number grew. They do not push the
peg in, and a number means the same to them whichever string it came from.
"""

import random
from typing import Protocol

from demo.mechanics.geometry import Spin
from demo.players.picture import Asks, Picture, PicturedPart, PicturedTurn
from demo.players.sight import seen
from device.config.settings import Settings
from device.events import Heard, LessonEvent, NextString
from device.lesson import monitored as table
from device.lesson.state import Coach
from dsp import Cents, Seconds, cents

SCREW_KNOWN = 0.8  # share of players who know which way a screw raises; invented
REACH = Cents(50.0)  # up to here the fine tuner (common practice)
MOVED = Cents(1.0)  # a screw that changed the number by less did nothing
TURNS_BEFORE_THE_PEG = 3  # such turns before the player takes the peg; invented
WORSE = Cents(3.0)  # a number that grew by more than this changes the player's mind
LENGTHS: dict[PicturedPart, tuple[float, float, float]] = {  # degrees, for up to 12, up to 30 and more cents
    PicturedPart.PEG: (2.0, 6.0, 20.0),
    PicturedPart.SCREW: (30.0, 120.0, 360.0),
}


class Guide(Protocol):
    """Something on the wall that hears and shows."""

    @property
    def shown(self) -> Picture:
        """What is to be seen now."""
        ...

    def take(self, event: LessonEvent) -> None:
        """Hear, or let time pass."""
        ...

    def look(self) -> None:
        """A player looks."""
        ...


class CoachGuide:
    """The box's own lesson."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._looked: tuple[Coach, Picture] | None = None
        self.coach = table.start(settings, Seconds(0.0))

    @property
    def shown(self) -> Picture:
        """What a player sees; worked out once for each state of the lesson."""
        if self._looked is None or self._looked[0] is not self.coach:
            self._looked = self.coach, seen(self.coach)
        return self._looked[1]

    def take(self, event: LessonEvent) -> None:
        """Pass the event on."""
        self.coach = table.advance(self.coach, event, self._settings)

    def look(self) -> None:
        """Looking changes nothing."""


class BareNumber:
    """A number, and what the player makes of it, told as if it were a picture."""

    def __init__(self, settings: Settings, rng: random.Random) -> None:
        self._settings, self._rng = settings, rng
        self._order = tuple(settings.targets)[::-1]
        self._string: str | None = self._order[0]
        self._clockwise_raises: dict[tuple[str, PicturedPart], bool] = {}
        self._left: set[str] = set()
        self._off: Cents | None = None  # the number of this pluck
        self._before: Cents | None = None  # and of the one before
        self._pluck = self._learnt = 0
        self._tried: PicturedPart | None = None  # what the last look made the player turn
        self._unmoved = 0  # plucks in a row that a screw did not change
        self._at_end: set[str] = set()  # strings whose screw the player has given up

    @property
    def shown(self) -> Picture:
        """The number, as what the player takes from it."""
        left = frozenset(self._left)
        if self._string is None:
            return Picture(Asks.END, self._order[-1], left=left, all_right=not left)
        if self._off is None:
            return Picture(Asks.PLUCK, self._string, pluck=self._string, left=left, words=self._string)
        turn, words = self._mind(self._string, self._off), f"{self._string} {self._off:+.1f}"
        return Picture(Asks.TURN, self._string, turn, left=left, words=words, same=(self._string, turn.part))

    def take(self, event: LessonEvent) -> None:
        """Show the number of the newest reading; the button asks for the next string."""
        if isinstance(event, NextString) and self._string is not None:
            self._left.add(self._string)
            self._next()
        if not isinstance(event, Heard) or self._string is None:
            return
        if event.pluck != self._pluck:
            self._pluck, self._before = event.pluck, self._off
        self._off = cents(event.frequency_hz, self._settings.targets[self._string])

    def look(self) -> None:
        """The player looks: learn from a number that grew, go on when it is small."""
        if self._off is None or self._string is None:
            return
        self._learn(self._string, self._off)
        part = self._part(self._string, self._off)
        if abs(self._off) <= self._settings.tolerance.cents:
            self._next()
        elif part is PicturedPart.PEG and self._settings.pegs_by_grown_up:
            self._left.add(self._string)
            self._next()
        else:
            self._tried = part

    def _learn(self, string: str, off: Cents) -> None:
        """A number that grew: the other way. One that a screw did not move: the screw is at its end."""
        part, before = self._tried, self._before
        if before is None or part is None or self._learnt == self._pluck:
            return
        self._learnt = self._pluck
        if abs(off) > abs(before) + WORSE:
            self._clockwise_raises[string, part] = not self._belief(string, part)
        if part is PicturedPart.SCREW:
            self._unmoved = self._unmoved + 1 if abs(off - before) < MOVED else 0
            if self._unmoved >= TURNS_BEFORE_THE_PEG:
                self._at_end.add(string)

    def _part(self, string: str, off: Cents) -> PicturedPart:
        return PicturedPart.SCREW if abs(off) <= REACH and string not in self._at_end else PicturedPart.PEG

    def _next(self) -> None:
        assert self._string is not None
        place = self._order.index(self._string) + 1
        self._off = self._before = self._tried = None
        self._unmoved = 0
        self._string = self._order[place] if place < len(self._order) else None

    def _mind(self, string: str, off: Cents) -> PicturedTurn:
        part, tightens = self._part(string, off), off < 0
        clockwise = self._belief(string, part) is tightens
        spin = Spin.CLOCKWISE if clockwise else Spin.COUNTER_CLOCKWISE
        degrees = LENGTHS[part][0 if abs(off) <= 12 else 1 if abs(off) <= 30 else 2]
        return PicturedTurn(part, string, tightens, degrees, spin)

    def _belief(self, string: str, part: PicturedPart) -> bool:
        known = SCREW_KNOWN if part is PicturedPart.SCREW else 0.5
        return self._clockwise_raises.setdefault((string, part), self._rng.random() < known)
