"""One reading and everything it is judged by, and what a rule may answer."""

from dataclasses import dataclass

from device.config.settings import Order, Settings, Tolerance
from device.instrument.frozen import replace
from device.instrument.strung import Strung, StrungString
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.memory import Known, Lesson
from device.lesson.state import Phase
from device.safety.string_bounds import Watch
from dsp import Cents, Hz, Seconds, cents

ROUNDED_AWAY = Cents(0.5)  # what a panel and an ear round away; left out of the fine tolerance
SURE = 2.0  # standard errors: 95 % of readings lie within
INSIDE = 1.64  # and not more than 5 % of them lie so far to one side: a string outside is not taken for right
STILL = 3.0  # cents a second: a string that is read to move faster may be turned, or misread
HASTY = Seconds(0.6)  # from pluck to pluck; in less no pitch settles
LATE = Seconds(1.0)
"""From here on a sounding is as well known as it will be: a hard pluck starts sharp and sinks for a second,
and what is unsure before then is answered once, not twice."""


@dataclass(frozen=True, slots=True)
class Context:
    """What everything is judged by, beside the reading: the lesson so far and the moment."""

    strung: Strung
    settings: Settings
    watch: Watch
    at: Seconds
    width: Cents  # half of what counts as right

    def grown_up(self, lesson: Lesson, name: str) -> bool:
        """Whether whoever turns may turn this string's peg."""
        if not self.settings.pegs_by_grown_up:
            return True
        there = lesson.teacher_until is not None and self.at <= lesson.teacher_until
        return there and name in lesson.teacher

    def off(self, known: Known) -> Cents:
        """How far a string that was heard is from its place."""
        return Cents(0.0) if known.hz is None else self.strung.off(known.hz, known.name)

    def right(self, known: Known) -> bool:
        """Whether a string is right now, with everything that is unsure about it."""
        return not known.doubted and self.seems_right(known)

    def seems_right(self, known: Known) -> bool:
        """Whether it would be right if it was heard rightly."""
        if known.hz is None or known.stale or known.struck:
            return False
        width = self.width - known.pulled
        return surely_inside(self.off(known), known.error, width, self.settings)


@dataclass(frozen=True, slots=True)
class PluckEvidence:
    """A reading that counts, with the lesson as it was before its sounding."""

    now: Context
    lesson: Lesson
    asked: str  # the string the picture asked for
    pluck: int
    hz: Hz
    error: Cents
    doubt: float
    drift: float  # cents a second
    since: Seconds  # since its pluck
    gap_s: Seconds | None  # from the sounding before
    wavered: bool = False  # readings of this sounding jumped
    ended: bool = False  # nothing more is to be heard of it

    @property
    def string(self) -> StrungString:
        """The string that was asked for."""
        return self.now.strung.of(self.asked)

    @property
    def known(self) -> Known:
        """What is known of it."""
        return self.lesson.of(self.asked)

    @property
    def like_before(self) -> bool:
        """Whether the sounding before gave the same pitch."""
        before = self.lesson.like_hz
        return before is not None and abs(cents(self.hz, before)) <= 20.0 + SURE * self.error

    @property
    def cut_in(self) -> bool:
        """Whether it began while another sounding was still to be read, and gave another pitch."""
        return self.gap_s is not None and self.gap_s < HASTY and not self.like_before

    @property
    def late(self) -> bool:
        """Whether waiting longer would tell little more."""
        return self.ended or self.since >= LATE

    @property
    def follows(self) -> bool:
        """Whether the player chooses the string."""
        return self.now.settings.order is Order.WHICHEVER_IS_PLUCKED


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a rule makes of it."""

    lesson: Lesson
    advice: Advice
    string: str  # the string asked for from now on
    phase: Phase = Phase.GUIDING
    shows: str | None = None  # the string whose reading is shown; None for none


def surely_inside(off: Cents, error: Cents, width: float, settings: Settings) -> bool:
    """Whether a pitch lies inside with all that is unsure about it."""
    margin = 0.0 if settings.tolerance is Tolerance.FINE else ROUNDED_AWAY
    return abs(off) + INSIDE * error + margin <= width


def turn_advice(  # noqa: PLR0913, PLR0917 - a turn has so many sides
    strung: Strung, name: str, part: TuningPart, direction: Direction, amount: Amount, degrees: float
) -> Advice:
    """A turn with everything that follows from the instrument."""
    rotation, away = strung.way(name, part, direction)
    push = strung.push_in and part is TuningPart.PEG
    return Advice(Say.TURN, part, name, direction, rotation, away, amount, degrees, push_in=push)


def told(lesson: Lesson, say: Say, string: str, **more: str | None) -> Outcome:
    """An answer without a turn."""
    return Outcome(lesson, Advice(say, string=more.get("other") or string, heard=more.get("heard")), string)


def renewed(lesson: Lesson, name: str, **changes: object) -> Lesson:
    """The lesson with some of what is known of one string changed."""
    return lesson.knowing(replace(lesson.of(name), **changes))  # type: ignore[arg-type]
