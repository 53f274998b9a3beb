"""One simulated lesson: a player, an instrument and something on the wall, in a closed loop.

    look at the wall -> act -> tension, pitch -> a pluck is heard -> the wall thinks -> look again

Nothing passes from the instrument to the player but what the wall shows. The outcome is judged by the
simulation's own truth: the strings' pitches, loads and breaks.
"""

from dataclasses import replace

from demo.actions import DEGREES, Action, CallTeacher, Leave, Pluck, PressNext, Turned, Wait, asked_turn
from demo.apply_turn import apply_turn
from demo.ears import Ears
from demo.guides import BareNumber, Guide
from demo.instrument import SimInstrument, errors
from demo.outcome import Counts, Outcome, inside
from demo.players import LISTENS, TURNS, Player
from device.config.settings import Settings
from device.events import NextString, Plucked, TeacherHere, Tick
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.advice import Alarm
from device.lesson.state import Coach, Mark, Phase
from dsp import Cents, Seconds

LONGEST_S = Seconds(600.0)  # then the player is called to supper; chosen
TICK_S = Seconds(0.2)  # of simulated time between readings; chosen for speed
PRESS_S = Seconds(0.5)
PLUCK_DBFS = -20.0


class Lesson:
    """A lesson from the first look at the wall to the last."""

    def __init__(
        self, instrument: SimInstrument, player: Player, guide: Guide, ears: Ears, settings: Settings
    ) -> None:
        self.instrument, self._player, self.guide, self._ears = instrument, player, guide, ears
        self.settings = settings
        self._now = 0.0
        self._counts = Counts()
        self.story: list[tuple[Seconds, str, Action]] = []  # time, what is shown, what the player does

    def run(self) -> Outcome:
        """Play it to its end."""
        while self._now < LONGEST_S and not self.instrument.broken:
            if isinstance(self.guide, BareNumber):
                self.guide.look()
            shown = self.guide.shown
            action = self._player.act(shown)
            self._judge(shown)
            self.story.append((Seconds(self._now), _told(shown), action))
            if isinstance(action, Leave):
                break
            begun = self._now
            self._do(action)
            self.instrument = self.instrument.later(Seconds(self._now - begun))
        return self._outcome()

    def _do(self, action: Action) -> None:
        match action:
            case Pluck(string):
                self._pluck(string)
            case Turned():
                self._turn(action)
                self._pass(TURNS)
            case Wait(duration):
                self._pass(duration)
            case PressNext():
                self.guide.take(NextString(Seconds(self._now)))
                self._pass(PRESS_S)
            case CallTeacher():
                self._pass(self.settings.chord_s)
                self.guide.take(TeacherHere(Seconds(self._now)))

    def _pluck(self, string: str) -> None:
        """Sound a string and let the wall hear it, time passing between the readings."""
        self._counts.plucks += 1
        begun, number = self._now, self._counts.plucks
        pitch = self.instrument.pitch(string)
        readings = () if pitch is None else self._ears.hear(Seconds(begun), number, pitch, LISTENS)
        if readings:
            self.guide.take(Plucked(Seconds(begun), number, readings[0].level_dbfs))
        for reading in readings:
            self._pass(Seconds(reading.at - self._now))
            self.guide.take(reading)
        self._pass(Seconds(begun + LISTENS - self._now))

    def _pass(self, duration: Seconds) -> None:
        """Let time pass for the wall."""
        until = self._now + duration
        while self._now + TICK_S < until:
            self._now += TICK_S
            self.guide.take(Tick(Seconds(self._now)))
        self._now = max(until, self._now)

    def _turn(self, turn: Turned) -> None:
        before = self._off(turn.string)
        self.instrument = apply_turn(self.instrument, turn, self._player.rng).instrument
        after = self._off(turn.string)
        limit = self.settings.tolerance.cents
        if before is not None and after is not None and abs(before) > limit < abs(after):
            self._counts.overshoots += before * after < 0
        loads = [self.instrument.load(s.name) for s in self.instrument.strings]
        self._counts.near_breaking |= max(loads) > 0.8 or bool(self.instrument.broken)
        self._counts.stopped += len(self.instrument.broken) * self._counts.stop_shown

    def _judge(self, shown: Coach) -> None:
        """Count the advice as dangerous if, turned twice as asked, it breaks what the hand is on.

        Asked is the arrow's length or what the amount stands for, whichever is more.
        """
        self._counts.stop_shown |= shown.advice.warning is Alarm.STOP
        hand_on = self._player.hand_on(shown.advice)
        turn = asked_turn(shown.advice, hand_on)
        key = (self._counts.plucks, hand_on, shown.advice)
        if turn is None or shown.phase is Phase.FINISHED or key in self._counts.judged:
            return
        self._counts.judged.add(key)
        usual = DEGREES[turn.what, shown.advice.amount or Amount.A_HAIR]
        twice = replace(turn, degrees=2.0 * max(turn.degrees, usual))
        after = _turned(self.instrument, twice)
        self._counts.dangerous += len(after.broken) > len(self.instrument.broken)

    def _off(self, string: str) -> Cents | None:
        return errors(self.instrument, self.settings.targets)[string]

    def _outcome(self) -> Outcome:
        off = errors(self.instrument, self.settings.targets)
        limit = self.settings.tolerance.cents
        right = {name: inside(value, limit) for name, value in off.items()}
        marks = {s.name: s.mark for s in self.guide.shown.strings}
        left = all(right[name] or marks[name] is Mark.GROWN_UP for name in off)
        counts = self._counts
        return Outcome(
            all(right.values()),
            left and not all(right.values()),
            counts.plucks,
            Seconds(self._now),
            counts.overshoots,
            len(self.instrument.broken),
            counts.stopped,
            counts.near_breaking,
            counts.stop_shown,
            counts.dangerous,
            tuple(off.values()),
        )


def _turned(instrument: SimInstrument, turn: Turned) -> SimInstrument:
    if turn.what is TuningPart.FINE_TUNER:
        return instrument.turn_screw(turn.string, turn.spin, turn.degrees)
    return instrument.turn_peg(turn.string, turn.spin, turn.degrees)


def _told(shown: Coach) -> str:
    a = shown.advice
    number = "" if shown.cents is None else f" {shown.cents:+.1f}"
    parts = [p.value for p in (a.turn, a.direction, a.rotation, a.amount, a.warning) if p is not None]
    return f"{shown.string} {shown.phase.value}{number} {a.say.value} {a.string or ''} {' '.join(parts)}"
