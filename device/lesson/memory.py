"""What the lesson remembers between two events: frozen, replaced, and empty for a new pupil.

`Lesson` is what the plucks have shown so far. `Memory` keeps two of them: as it was before the present
sounding, and with it. Each new reading of a sounding is judged against the first, so a sounding counts once
however often it is read. What the lesson is doing is one of the tasks below.
"""

from dataclasses import dataclass

from device.events import Heard
from device.instrument.frozen import replace
from device.instrument.strung import Strung
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Alarm, Say
from dsp import Cents, Hz, Seconds


@dataclass(frozen=True, slots=True)
class PendingTurn:
    """A turn that was asked for and has not been heard to act yet, with those like it just before."""

    at: Seconds
    string: str
    part: TuningPart
    sign: int  # +1 tighten, -1 loosen
    degrees: float
    from_hz: Hz
    error: Cents  # of that pitch
    wish_hz: Hz  # where the slope reckoned with takes it
    fresh: tuple[str, ...]  # the others that were known when it was asked for


@dataclass(frozen=True, slots=True)
class Surveying:
    """Hear every string before anything is turned; `strict` low to high, since some are far off."""

    strict: bool = False
    misses: int = 0
    known_ones: int = 0  # soundings of strings that were known already


@dataclass(frozen=True, slots=True)
class Tuning:
    """One string is worked on."""

    string: str


@dataclass(frozen=True, slots=True)
class HearingOthers:
    """Other strings are plucked before `string` is turned on: one may have moved, or stand too high."""

    string: str
    queue: tuple[str, ...]
    misses: int = 0
    say: Say = Say.TURN  # how the turn is introduced afterwards
    sought: PendingTurn | None = None  # a turn that moved nothing: which string did it move?


@dataclass(frozen=True, slots=True)
class TellingApart:
    """Two or more strings may sound alike: they are plucked from the lowest up, then `string` goes on."""

    string: str
    queue: tuple[str, ...]
    heard: tuple[tuple[str, int, Hz, Cents], ...] = ()  # string, sounding, pitch, its error


@dataclass(frozen=True, slots=True)
class ShowingRight:
    """A string is right, which is shown for a moment."""

    string: str


@dataclass(frozen=True, slots=True)
class ShowingLeft:
    """A string is left for a grown-up, or the bridge is to be looked at, which is shown for a moment."""

    string: str


@dataclass(frozen=True, slots=True)
class Asking:
    """A question stands: which instrument, which reference pitch, or slower please."""

    alarm: Alarm


@dataclass(frozen=True, slots=True)
class Finished:
    """The end picture."""


Task = Surveying | Tuning | HearingOthers | TellingApart | ShowingRight | ShowingLeft | Asking | Finished


@dataclass(frozen=True, slots=True)
class Known:
    """The hypothesis about one string."""

    name: str
    hz: Hz | None = None  # None until it has been heard
    error: Cents = Cents(0.0)  # one standard error
    first_hz: Hz | None = None
    stale: bool = False  # a turn was asked for that may have moved it, and it was not heard since
    pulled: Cents = Cents(0.0)  # so much the turning of others may have moved it since
    peg: float | None = None  # learned: so many times as steep as usual
    screw: float | None = None
    screw_ended: int = 0  # no travel left: +1 to tighten, -1 to loosen
    tries: int = 0  # turns in vain, in a row
    plucks: int = 0  # soundings since the lesson began that were asked of it
    nearest: float = 1e9  # cents, the nearest it came to its place
    stuck: int = 0  # plucks since it came nearer by a tenth
    unsure: int = 0  # plucks in a row that left it open
    passed: int = 0  # soundings in a row that were asked of it and were not it
    was_right: bool = False
    doubted: bool = False  # heard to move, or where no turn could have taken it: another's, or misread
    struck: bool = False  # missing or broken, as the teacher said
    left: bool = False  # for a grown-up
    skipped: int = 0  # times the button passed it by


@dataclass(frozen=True, slots=True)
class Lesson:
    """What the plucks of this lesson have shown."""

    known: tuple[Known, ...] = ()
    task: Task = Surveying()
    pending: PendingTurn | None = None
    said: frozenset[str] = frozenset()  # questions that were put
    placed: frozenset[str] = frozenset()  # strings in whose places something sounded
    plucks: int = 0
    unclear: int = 0  # soundings in a row without a pitch that counts
    again: int = 0  # answers in a row that only asked for another pluck
    hearings: int = 0  # times in a row that others were heard for a turn that was not asked for yet
    wrong_ways: int = 0  # strings that were left because they went the wrong way
    hasty: int = 0  # soundings in a row that came too soon,
    too_soon: int = 0  # and all of them
    like_hz: Hz | None = None  # the sounding before
    odd: int = 0  # soundings in a row that nothing explains
    foreign: tuple[Hz, ...] = ()  # pitches that belong to another instrument
    wound: float = 0.0  # cents by pegs since the bridge was looked at
    teacher: tuple[str, ...] = ()  # strings whose pegs a grown-up is at
    teacher_until: Seconds | None = None
    strayed: bool = False  # a string moved that was not to be turned: a hand was on the wrong part
    last_left: str | None = None  # left for a grown-up just now, until the next pluck

    def of(self, name: str) -> Known:
        """What is known of a string; nothing of one that is not there."""
        for known in self.known:  # a loop, since it is asked for a hundred times a reading
            if known.name == name:
                return known
        return Known(name)

    def knowing(self, *new: Known) -> "Lesson":
        """The lesson with what is known of some strings replaced."""
        fresh = {known.name: known for known in new}
        return replace(self, known=tuple(fresh.get(k.name, k) for k in self.known))

    @property
    def live(self) -> tuple[str, ...]:
        """The strings that are there, low to high."""
        return tuple(known.name for known in self.known if not known.struck)


@dataclass(frozen=True, slots=True)
class Memory:
    """Everything beside what is shown."""

    strung: Strung | None = None
    began: Seconds = Seconds(0.0)
    lesson: Lesson = Lesson()
    before: Lesson = Lesson()
    pluck: int | None = None  # the sounding that is listened to
    sounded_at: Seconds | None = None  # when it began
    gap_s: Seconds | None = None  # from the sounding before
    reading: Heard | None = None  # its last reading
    wavered: bool = False  # its readings jumped: another string sounds into it
    decided: Advice | None = None  # what this sounding was answered with
    asked_at: Seconds = Seconds(0.0)  # soundings begun before say nothing of what is asked now


NOTHING = Memory()
"""What nobody began yet remembers."""
