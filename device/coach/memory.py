"""What the coach remembers between two events: frozen, replaced, and empty for a new pupil.

`Lesson` is what the plucks have shown so far. `Memory` keeps two of them: as it was before the
present sounding, and with it. Each new reading of one sounding is judged against the first, so a
sounding counts once however often it is read.
"""

from dataclasses import dataclass, replace
from enum import Enum

from dsp import Hz, Seconds


class Why(Enum):
    """Why the other strings are being plucked."""

    NOTHING_MOVED = "nothing-moved"  # a turn was not answered: which string did it move?
    NEVER_HEARD = "never-heard"  # nothing is known of a string the hand might turn by mistake


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one string: pitch, and what turning did to it."""

    name: str
    hz: Hz | None = None  # last heard; None until it has been
    first_hz: Hz | None = None  # first heard
    heard: int = 0  # soundings that were taken for it
    was_right: bool = False  # at some time in this lesson
    unheard_peg: float = 0.0  # degrees of tightening asked of any peg since it was last heard
    unheard_screw: float = 0.0  # the same, of any fine tuner
    peg_slope: float | None = None  # learned: relative tension for one degree; None until a turn was answered
    screw_slope: float | None = None
    screw_ended: int = 0  # the fine tuner has no travel left: +1 to tighten, -1 to loosen
    loosened: float = 0.0  # cents it fell when that was asked for, by its peg or from far too sharp
    rises: int = 0  # times it rose after a LOOSEN
    unanswered: int = 0  # turns asked for in vain, in a row
    steps: int = 0  # answered turns since the last pause
    ended: bool = False  # nothing more is asked of this string
    again: bool = False  # left, but worth asking for once more in the checking round
    stale: bool = False  # something was turned since it was last right


@dataclass(frozen=True, slots=True)
class Turned:
    """A turn that was asked for and has not been heard to act yet."""

    at: Seconds
    string: str
    peg: bool  # by its peg; otherwise by its fine tuner
    sign: int  # +1 tighten, -1 loosen
    degrees: float  # as wished
    told: float  # all that the amount stands for: a hand may turn so far
    from_hz: Hz  # where the string stood
    wish_hz: Hz  # where the usual slope takes it
    least_hz: Hz  # a third of what the flattest slope does: less than that is no answer


@dataclass(frozen=True, slots=True)
class Others:
    """The other strings are plucked to see which one moved."""

    why: Why
    queue: tuple[str, ...]
    heard: tuple[str, ...] = ()
    misses: int = 0  # plucks that were none of them


@dataclass(frozen=True, slots=True)
class RollCall:
    """All strings are plucked, each twice as pictured, to learn which pitch belongs to which."""

    plan: tuple[str, ...]
    heard: tuple[tuple[str, Hz], ...] = ()
    repeats: int = 0  # times a string had to be asked for again
    checks: int = 0  # times strings were asked for again at its end


@dataclass(frozen=True, slots=True)
class Proof:
    """It is known which string sounds here, though it is far from its place."""

    string: str
    low_hz: Hz  # the next pluck should give at least this: nothing was turned
    high_hz: Hz  # and at most this: the steepest string it may be, turned as asked


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the plucks of this lesson have shown."""

    known: tuple[Known, ...] = ()
    turned: Turned | None = None
    others: Others | None = None
    roll: RollCall | None = None
    proof: Proof | None = None
    rolls: int = 0  # roll calls for the string asked for
    like_hz: Hz | None = None  # the pluck before, whatever it was
    like_level: float | None = None  # its level, dBFS
    strange: int = 0  # plucks in a row that were not the string asked for, alike
    odd: int = 0  # plucks that were not the string asked for, alike or not
    octaves: tuple[str, ...] = ()  # strings that sounded an octave off
    reference_asked: bool = False  # the question of the reference pitch was put and answered by a button
    queue: tuple[str, ...] = ()  # strings still to be asked for in this round
    round: int = 0  # 0 the first time through, then the checking rounds
    left_last: str | None = None  # the string left for a grown-up, until the next one is heard
    teacher: str | None = None  # a grown-up is at the pegs of this string
    teacher_until: Seconds | None = None

    def of(self, string: str) -> Known:
        """What is known of `string`; nothing for a string the instrument does not have."""
        return next((known for known in self.known if known.name == string), Known(string))

    def knowing(self, new: Known) -> "Lesson":
        """The lesson with what is known of one string replaced."""
        return replace(self, known=tuple(new if k.name == new.name else k for k in self.known))


@dataclass(frozen=True, slots=True)
class Memory:
    """Everything beside what is shown."""

    asked_at: Seconds | None = None  # when the string was asked for; soundings begun before say nothing of it
    pluck: int | None = None  # the sounding that is listened to
    sounded_at: Seconds | None = None  # when it began
    gap_s: Seconds | None = None  # silence before it
    steady_since: Seconds | None = None  # since when its pitch has stood still
    lesson: Lesson = Lesson()
    before: Lesson = Lesson()


NOTHING = Memory()
"""What a new lesson remembers."""
