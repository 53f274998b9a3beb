"""What a simulated player looks at: the box's coach, or a bare number of cents.

The bare number stands for a display that shows the string asked for and how many cents off the last
pluck was, and nothing else. How a player acts on it (invented, and meant kindly): within the
tolerance they go on to the next string; up to 50 cents they take the fine tuner, beyond it the
peg; the hand turns the further the larger the number, with the same three lengths as the
coach's pictures. That a screw raises clockwise they know four times out of five; of a peg they
try one way, and the other when the number grew. They do not push the peg in, and a number
means the same to them whichever string it came from.
"""

import random
from dataclasses import replace
from typing import Protocol

from device.config.settings import Settings
from device.events import Heard, LessonEvent, NextString
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson import monitored as table
from device.lesson.advice import Advice, Say
from device.lesson.state import Coach, Mark, Phase, StringState
from dsp import Cents, Seconds, cents

SCREW_KNOWN = 0.8  # share of players who know which way a screw raises; invented
REACH = Cents(50.0)  # up to here the fine tuner (common practice)
MOVED = Cents(1.0)  # a screw that changed the number by less did nothing
PATIENCE = 3  # such turns before the player takes the peg; invented
WORSE = Cents(3.0)  # a number that grew by more than this changes the player's mind


class Guide(Protocol):
    """Something on the wall that hears and shows."""

    @property
    def shown(self) -> Coach:
        """What is to be seen now."""
        ...

    def take(self, event: LessonEvent) -> None:
        """Hear, or let time pass."""
        ...


class CoachGuide:
    """The box's own coach."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self.shown: Coach = table.start(settings, Seconds(0.0))

    def take(self, event: LessonEvent) -> None:
        """Pass the event on."""
        self.shown = table.advance(self.shown, event, self._settings)


class BareNumber:
    """A number, and what the player makes of it, told as if it were advice."""

    def __init__(self, settings: Settings, rng: random.Random) -> None:
        self._settings, self._rng = settings, rng
        self._order = tuple(settings.targets)[::-1]
        self._clockwise_raises: dict[tuple[str, TuningPart], bool] = {}
        self._before: Cents | None = None  # the number of the pluck before
        self._pluck = self._learnt = 0
        self._tried = TuningPart.NONE  # what the last look made the player turn
        self._unmoved = 0  # plucks in a row that a screw did not change
        self._at_end: set[str] = set()  # strings whose screw the player has given up
        strings = tuple(StringState(name) for name in settings.targets)
        self.shown: Coach = Coach(Phase.WAITING, self._order[0], Seconds(0.0), strings)

    def take(self, event: LessonEvent) -> None:
        """Show the number of the newest reading; the button asks for the next string."""
        if isinstance(event, NextString) and self.shown.phase is not Phase.FINISHED:
            self._next(Mark.TO_DO)
        if not isinstance(event, Heard) or self.shown.phase is Phase.FINISHED:
            return
        if event.pluck != self._pluck:
            self._pluck, self._before = event.pluck, self.shown.cents
        off = cents(event.frequency_hz, self._settings.targets[self.shown.string])
        advice = self._state(off)
        self.shown = replace(self.shown, phase=Phase.GUIDING, cents=off, advice=advice)

    def look(self) -> None:
        """The player looks: learn from a number that grew, go on when it is small."""
        off = self.shown.cents
        if off is None or self.shown.phase is Phase.FINISHED:
            return
        self._learn(off)
        if abs(off) <= self._settings.tolerance.cents:
            self._next(Mark.RIGHT)
        elif self._thing(off) is TuningPart.PEG and self._settings.pegs_by_grown_up:
            self._next(Mark.GROWN_UP)
        else:
            self.shown = replace(self.shown, advice=self._state(off))
            self._tried = self.shown.advice.turn

    def _learn(self, off: Cents) -> None:
        """A number that grew: the other way. One that a screw did not move: the screw is at its end."""
        turn, before = self._tried, self._before
        if before is None or turn is TuningPart.NONE or self._learnt == self._pluck:
            return
        self._learnt = self._pluck
        key = (self.shown.string, turn)
        if abs(off) > abs(before) + WORSE:
            self._clockwise_raises[key] = not self._belief(*key)
        if turn is TuningPart.FINE_TUNER:
            self._unmoved = self._unmoved + 1 if abs(off - before) < MOVED else 0
            if self._unmoved >= PATIENCE:
                self._at_end.add(self.shown.string)

    def _thing(self, off: Cents) -> TuningPart:
        screw = abs(off) <= REACH and self.shown.string not in self._at_end
        return TuningPart.FINE_TUNER if screw else TuningPart.PEG

    def _next(self, mark: Mark) -> None:
        marked = tuple(
            replace(s, mark=mark) if s.name == self.shown.string else s for s in self.shown.strings
        )
        place = self._order.index(self.shown.string) + 1
        more = place < len(self._order)
        self._before, self._unmoved, self._tried = None, 0, TuningPart.NONE
        self.shown = Coach(
            Phase.WAITING if more else Phase.FINISHED,
            self._order[place if more else -1],
            Seconds(0.0),
            marked,
        )

    def _state(self, off: Cents) -> Advice:
        turn = self._thing(off)
        direction = Direction.TIGHTEN if off < 0 else Direction.LOOSEN
        clockwise = self._belief(self.shown.string, turn) is (direction is Direction.TIGHTEN)
        rotation = Rotation.CLOCKWISE if clockwise else Rotation.COUNTER_CLOCKWISE
        amount = Amount.A_HAIR if abs(off) <= 12 else Amount.A_LITTLE if abs(off) <= 30 else Amount.MORE
        return Advice(Say.TURN, turn, self.shown.string, direction, rotation, None, amount)

    def _belief(self, string: str, turn: TuningPart) -> bool:
        known = SCREW_KNOWN if turn is TuningPart.FINE_TUNER else 0.5
        return self._clockwise_raises.setdefault((string, turn), self._rng.random() < known)
