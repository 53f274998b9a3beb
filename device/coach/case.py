"""One reading and everything it is judged by; and what a rule may answer."""

from dataclasses import dataclass, replace

from device.coach.memory import Known, Lesson, Proof
from device.coach.once import targets_of
from device.coach.order import order_of
from device.config.settings import Settings
from device.lesson.state import Advice, Alarm, Mark, Phase, Say
from dsp import Cents, Hz, Seconds, cents, shifted

PLACE_BELOW = Cents(150.0)  # further below its place a string's identity needs proof
PLACE_ABOVE = Cents(250.0)  # further above nothing is turned
ALIKE = Cents(20.0)  # two plucks of one string at rest lie nearer than this
EXPECTED_WITHIN = Cents(100.0)  # a proved string sounds so near to what its last turn should have given
UNTURNED = Cents(60.0)  # a string nobody was asked to turn moves by so much at most
PROOF_LASTS = Seconds(30.0)  # of silence
MOST_DOUBT = 0.1  # octave_doubt, 0..1: above it a reading asks for no turn
NEVER_HEARD = Cents(200.0)  # a string nobody heard may stand so far above its target


@dataclass(frozen=True, slots=True)
class Case:
    """A reading that counts, with the lesson as it was before its sounding."""

    settings: Settings
    string: str  # the one asked for
    lesson: Lesson
    at: Seconds
    hz: Hz
    std_error_cents: Cents
    octave_doubt: float
    drift_cents_per_s: float
    level_dbfs: float
    still: bool  # the pitch has stood still long enough
    gap_s: Seconds | None  # silence before this sounding
    others_heard: tuple[str, ...] = ()  # just now, while the others were asked for
    shown: Advice | None = None  # earlier in this sounding
    say: Say = Say.TURN  # how a turn is introduced, should there be one

    @property
    def cents(self) -> Cents:
        """How far from the string asked for; sharp is positive."""
        return self.off(self.string)

    @property
    def known(self) -> Known:
        """What is known of the string asked for."""
        return self.lesson.of(self.string)

    @property
    def others(self) -> tuple[str, ...]:
        """The other strings, in the order of the lesson."""
        return tuple(name for name in order_of(self.settings) if name != self.string)

    @property
    def nearest(self) -> str:
        """The open string the reading is closest to."""
        return min(self.targets, key=lambda name: abs(self.off(name)))

    @property
    def like_before(self) -> bool:
        """Whether the pluck before gave the same pitch."""
        before = self.lesson.like_hz
        return before is not None and abs(cents(self.hz, before)) <= ALIKE

    @property
    def explained(self) -> bool:
        """Whether the last turn, three times over, explains the pitch; nothing to explain if never heard.

        A string proved to stand elsewhere needs explaining, too.
        """
        known, done, proof = self.known.hz, self.lesson.turned, self.lesson.proof
        if known is None:
            return proof is None or proof.string != self.string or self.proved
        turned = abs(cents(done.wish_hz, done.from_hz)) if done and done.string == self.string else 0.0
        return abs(cents(self.hz, known)) <= UNTURNED + 3.0 * turned

    @property
    def proved(self) -> bool:
        """Whether a proof says that this is the string asked for."""
        proof = self.lesson.proof
        if proof is None or proof.string != self.string:
            return False
        in_time = self.gap_s is None or self.gap_s <= PROOF_LASTS
        above_low = cents(self.hz, proof.low_hz) >= -EXPECTED_WITHIN
        return in_time and above_low and cents(self.hz, proof.high_hz) <= EXPECTED_WITHIN

    @property
    def grown_up(self) -> bool:
        """Whether whoever turns may turn this string's peg."""
        if not self.settings.pegs_by_grown_up:
            return True
        until = self.lesson.teacher_until
        return self.lesson.teacher == self.string and until is not None and self.at <= until

    @property
    def targets(self) -> dict[str, Hz]:
        """Where each open string should sound, by its name."""
        return targets_of(self.settings)

    def off(self, name: str) -> Cents:
        """How far the reading is from open string `name`."""
        return cents(self.hz, self.targets[name])

    def in_place(self, name: str) -> bool:
        """Whether the reading is nearest to `name` and close enough to be taken for it."""
        return self.nearest == name and -PLACE_BELOW <= self.off(name) <= PLACE_ABOVE

    def highest(self, name: str) -> Hz:
        """The highest pitch `name` may have now: as last heard, or as a careless hand may have left it."""
        heard = self.lesson.of(name).hz
        return heard if heard is not None else shifted(self.targets[name], NEVER_HEARD)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a rule makes of a reading."""

    lesson: Lesson
    advice: Advice
    phase: Phase = Phase.GUIDING
    mark: Mark | None = None  # None leaves the string's mark as it is
    shown: Cents | None = None  # where the string asked for stands; None when this is not known now


def no_turn(case: Case, say: Say, string: str | None = None, heard: str | None = None) -> Outcome:
    """An answer without a turn; what it says is not of the string asked for."""
    return Outcome(case.lesson, Advice(say, string=string, heard=heard))


def warned(case: Case, warning: Alarm) -> Outcome:
    """A warning, which takes the whole panel."""
    return Outcome(case.lesson, Advice(Say.WAIT, warning=warning))


def heard_at(case: Case, name: str) -> Case:
    """The case with `name` known to sound at the reading: whatever was turned is in it."""
    known = case.lesson.of(name)
    first = known.first_hz if known.first_hz is not None else case.hz
    known = replace(
        known, hz=case.hz, first_hz=first, heard=known.heard + 1, unheard_peg=0.0, unheard_screw=0.0
    )
    return replace(case, lesson=case.lesson.knowing(known))


def left(case: Case, *, again: bool = False, string: str | None = None) -> Outcome:
    """Leave the string for a grown-up; `again` asks for it once more in the checking round."""
    name = string or case.string
    lesson = replace(
        case.lesson, turned=None, others=None, roll=None, proof=None, strange=0, odd=0, left_last=name
    )
    known = replace(lesson.of(name), again=again)
    return Outcome(lesson.knowing(known), Advice(Say.GROWN_UP, string=name), mark=Mark.GROWN_UP)


def proof_at(case: Case, to: Hz | None = None) -> Proof | None:
    """The proof, if it holds, moved on: the next pluck lies between this pitch and `to`."""
    if not case.proved:
        return None
    reached = case.hz if to is None else to
    return Proof(case.string, min(case.hz, reached), max(case.hz, reached))
