"""One simulated lesson: a player, an instrument and something on the wall, in a closed loop.

    look at the wall -> act -> pull, pitch -> a pluck is heard -> the wall thinks -> look again

Nothing passes from the instrument to the player but what the wall shows. The outcome is judged by the
simulation's own truth: the strings' pitches, loads and breaks.
"""

from collections.abc import Hashable

from demo.lessons.ears import Ears, Sound
from demo.lessons.guides import Guide
from demo.lessons.outcome import FALSE_BEYOND, Counts, LessonOutcome, inside
from demo.mechanics.instrument import SimInstrument, errors
from demo.players.actions import Action, CallTeacher, HandTurn, Leave, Pluck, PressNext, Wait
from demo.players.hand import apply_turn, in_pieces
from demo.players.picture import Asks, Picture, PicturedPart
from demo.players.player import Player
from device.config.settings import Settings
from device.events import Heard, NextString, TeacherHere, Tick
from dsp import Cents, Hz, Seconds

LONGEST_LESSON_S = Seconds(900.0)  # then the player is called to supper; chosen
MOST_PLUCKS = 25  # a string, after which a lesson has not ended; the design's figure
LESSON_TICK_S = Seconds(0.25)  # of simulated time between events; chosen for speed
PRESS_TAKES_S = Seconds(0.5)
PIECES = 6  # of a turn made while the string sounds


class SimLesson:
    """A lesson from the first look at the wall to the last."""

    def __init__(
        self, instrument: SimInstrument, player: Player, guide: Guide, ears: Ears, settings: Settings
    ) -> None:
        self.instrument, self.player, self.guide, self.ears = instrument, player, guide, ears
        self.settings = settings
        self.counts = Counts()
        self.story: list[tuple[Seconds, str, Action]] = []  # time, what is shown, what the player does
        self._now = 0.0
        self._goals = dict(settings.targets)
        self._pitchless_before: Picture | None = None  # what was shown before a pluck without pitch

    def run(self) -> LessonOutcome:
        """Play it to its end."""
        most = MOST_PLUCKS * len(self.instrument.strings)
        gone = set(self.instrument.broken)  # a string that was missing from the start breaks nothing
        while (
            self._now < LONGEST_LESSON_S
            and self.counts.plucks <= most
            and gone == set(self.instrument.broken)
        ):
            self.guide.look()
            shown = self.guide.shown
            action = self.player.act(shown)
            self._judge(shown, action)
            self.story.append((Seconds(self._now), shown.words, action))
            if isinstance(action, Leave):
                break
            begun = self._now
            self._do(action)
            self.instrument = self.instrument.later(Seconds(self._now - begun))
        return self._outcome(len(gone))

    def _do(self, action: Action) -> None:
        match action:
            case Pluck():
                self._pluck(action)
            case HandTurn():
                self._turn(action)
                self._pass(action.duration)
            case Wait(duration):
                self._pass(duration)
            case PressNext():
                self.guide.take(NextString(Seconds(self._now)))
                self._pass(PRESS_TAKES_S)
            case CallTeacher():
                self._pass(self.settings.chord_s)
                self.guide.take(TeacherHere(Seconds(self._now)))

    def _pluck(self, pluck: Pluck) -> None:
        """Sound a string and let the wall hear it, time passing between the readings."""
        self.counts.plucks += 1
        begun, before = self._now, self.guide.shown
        pitches = self._course(pluck)
        events = self.ears.hear(Sound(Seconds(begun), pluck, pitches))
        pitched = any(isinstance(event, Heard) for event in events)
        heard = bool(events)  # of a silent string the box hears no pluck either
        self._pitchless_before = before if heard and not pitched else None
        answers = list[Hashable]()  # other than that of the pluck before, in turn
        for event in events:
            self._pass(Seconds(event.at - self._now))
            self.guide.take(event)
            shown = self.guide.shown
            if not shown.listening and shown.same != (answers[-1] if answers else before.same):
                answers.append(shown.same)
        self._pass(Seconds(begun + pluck.listens - self._now))
        changes = max(len(answers) - 1, 0)
        self.counts.changed += changes
        self.counts.changed_often += changes > 2

    def _course(self, pluck: Pluck) -> tuple[Hz | None, ...]:
        """The string's pitch from the pluck on, at even steps; a hand turns first and then lets it ring."""
        pitches = [self.instrument.pitch(pluck.string)]
        if pluck.turning is not None:
            for piece in in_pieces(pluck.turning, PIECES):
                self._turn(piece)
                pitches.append(self.instrument.pitch(pluck.string))
            rings = pluck.listens / pluck.turning.duration - 1.0
            pitches += pitches[-1:] * round(PIECES * rings)
        return tuple(pitches)

    def _pass(self, duration: Seconds) -> None:
        """Let time pass for the wall."""
        until = self._now + duration
        while self._now + LESSON_TICK_S < until:
            self._now += LESSON_TICK_S
            self.guide.take(Tick(Seconds(self._now)))
        self._now = max(until, self._now)

    def _turn(self, turn: HandTurn) -> None:
        before = self.off(turn.string)
        self.instrument = apply_turn(self.instrument, turn, self._goals, self.player.rng).instrument
        after = self.off(turn.string)
        limit = self.settings.tolerance.cents
        if before is not None and after is not None and abs(before) > limit < abs(after):
            self.counts.overshoots += before * after < 0
        if before is not None and after is not None and after > before:
            self.counts.nearest = max(self.counts.nearest, self.instrument.loads()[turn.string])
        if before is not None and self.instrument.string(turn.string).broken:
            self.counts.nearest = 1.0
            self.counts.stopped += self.counts.stop_shown

    def _judge(self, shown: Picture, action: Action) -> None:
        """Count what the picture does wrong, by what is true."""
        counts = self.counts
        counts.stop_shown |= shown.asks is Asks.STOP
        if shown.asks is Asks.END:
            counts.ended = True
            limit = Cents(self.settings.tolerance.cents + FALSE_BEYOND)
            right = all(inside(off, limit) for off in errors(self.instrument, self._goals).values())
            counts.falsely_all_right |= shown.all_right and not right
        if isinstance(action, HandTurn) and shown.turn is not None:
            stale = self._pitchless_before is not None and self._pitchless_before.same == shown.same
            counts.stale += stale
            self._judge_turn(shown, action)

    def _judge_turn(self, shown: Picture, action: HandTurn) -> None:
        """Dangerous is a picture that, done twice over, breaks what the hand is on."""
        assert shown.turn is not None
        key = (self.counts.plucks, action.string, shown.same)
        if key in self.counts.judged:
            return
        self.counts.judged.add(key)
        spin, degrees = self.player.pegbox.spin(shown.turn, action.string), 2.0 * shown.turn.degrees
        move = SimInstrument.turn_peg if shown.turn.part is PicturedPart.PEG else SimInstrument.turn_screw
        after = move(self.instrument, action.string, spin, degrees)
        self.counts.dangerous += len(after.broken) > len(self.instrument.broken)

    def off(self, string: str) -> Cents | None:
        """How far a string truly is off."""
        return errors(self.instrument, self._goals)[string]

    def _outcome(self, gone: int) -> LessonOutcome:
        off, limit = errors(self.instrument, self._goals), self.settings.tolerance.cents
        right = {name: inside(value, limit) for name, value in off.items()}
        left = all(right[name] or name in self.guide.shown.left for name in off)
        counts = self.counts
        return LessonOutcome(
            in_tune=all(right.values()),
            handed_over=left and not all(right.values()),
            falsely_all_right=counts.falsely_all_right,
            misled=self.ears.misled > 0,
            ended=counts.ended,
            plucks=counts.plucks,
            seconds=Seconds(self._now),
            overshoots=counts.overshoots,
            broken=len(self.instrument.broken) - gone,
            stopped_before_break=counts.stopped,
            nearest=counts.nearest,
            stop_shown=counts.stop_shown,
            dangerous=counts.dangerous,
            changed_often=counts.changed_often,
            steady=counts.changed == 0,
            stale=counts.stale,
            off=off,
        )
