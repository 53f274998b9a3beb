"""How high each string may stand: what the safety monitor knows, whatever was really plucked and turned.

The invariant: each bound is at or above the string's true load, whichever strings were plucked and
whichever pegs were turned, by a player who turns either way and no more than twice as far as asked.
Two things are taken for granted: an instrument is not found with a string, the highest apart, more than
250 cents above its place; and no two soundings are misread alike, or one so that it fits the string asked
for. By these rules it is kept:

* A reading lowers a string's bound only if no other string can have made that sound, as `told_apart` in
  `roll_call` finds out without asking what was to be plucked. Where two strings may have made two sounds
  either way, each may be as high as the higher of them, until they are heard apart.
* The highest string alone may be found far too sharp, and misread by a fifth or an octave it seems flat.
  Before it is known, what sounds below its place is its own only when it sounded so twice while it was asked
  for, or where no other is found, and no higher since. Misread by a fifth, it would have to stand 550 cents
  too high to seem in its place, and a steel one bears no more than that.
* A pitch that sounded once, when another string was asked for, may be that one's, misread: it lowers no
  bound of a string that was not asked for.
* No reading can tell a string so slack that it sounds like another from that other, if a player takes
  each for the other. A grown-up who says that they are there is believed, but for a wrong pluck now and then:
  a pitch in the reach of the string asked for is that string's where it sounded twice and no other string
  was heard there, or in a roll call that rises through all; before anything is known, as `surveyed` has it.
* A turn that is asked for counts on every string that has such a part (`safety_monitor.passed`).
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from device.events import Heard
from device.instrument.frozen import replace
from device.instrument.pitch_bounds import LEAP, Bound
from device.instrument.roll_call import (
    APART,
    LIKE_PLUCKS,
    PLACE_ABOVE,
    PLACE_BELOW,
    Heights,
    Roll,
    Sounded,
    rising,
    surveyed,
    told_apart,
)
from device.instrument.strung import MARGIN, Strung
from device.instrument.tuning_parts import Amount, TuningPart, carried_out
from device.lesson.advice import Advice
from dsp import Cents, Hz, Seconds, cents, shifted

LEAST_HZ = Hz(1.0)  # lower than any string
MOST_DOUBT = 0.1  # octave_doubt, 0..1
TURNING = 8.0  # cents a second: this string is being turned while it is heard
MOST_JUMP = Cents(60.0)  # within one sounding; no string glides and no hand turns so fast: another sounds in
REMEMBERED = 16  # soundings
TEACHER_STAYS_FOR = Seconds(300.0)


@dataclass(frozen=True, slots=True)
class Watch:
    """What the monitor knows: a bound for each string, and what sounded since the last turn."""

    bounds: tuple[Bound, ...] = ()
    roll: Roll = ()  # what sounded since the last turn that was asked for
    pluck: int = -1  # the sounding heard last, and what was asked for when it began
    asked: str | None = None
    hz: Hz | None = None  # as it was read last
    jumped: int = -1  # a sounding that is not believed: too far above everything, or not one string's
    counted: tuple[int, Advice] | None = None  # the turn that was counted last, and its sounding
    vouched_until: Seconds = Seconds(0.0)  # so long a grown-up sees to it that what is asked for is plucked
    stopped: tuple[tuple[str, int], ...] = ()  # strings that STOP was shown for, and since which sounding

    def of(self, name: str | None) -> Bound:
        """One string's bound; one that is not there was never heard."""
        for bound in self.bounds:
            if bound.name == name:
                return bound
        return Bound(name or "")

    def knowing(self, *new: Bound) -> "Watch":
        """With some bounds replaced."""
        fresh = {bound.name: bound for bound in new}
        return replace(self, bounds=tuple(fresh.get(b.name, b) for b in self.bounds))


def watching(names: Iterable[str]) -> Watch:
    """A new watch over these strings: nothing is known of any."""
    return Watch(tuple(Bound(name) for name in names))


def vouched(watch: Watch, at: Seconds) -> Watch:
    """A grown-up says that they are there; they do not vouch for what was plucked before they came."""
    roll = watch.roll if at <= watch.vouched_until else ()
    return replace(watch, roll=roll, vouched_until=Seconds(at + TEACHER_STAYS_FOR))


def after_hearing(watch: Watch, strung: Strung, event: Heard, asked: str | None) -> Watch:
    """After a reading; `asked` is the string the picture asks for, None when any may be plucked."""
    if not (LEAST_HZ < event.frequency_hz < math.inf and math.isfinite(event.std_error_cents)):
        return watch
    same = event.pluck == watch.pluck
    before, asked = (watch.hz, watch.asked) if same else (None, asked)
    watch = replace(watch, pluck=event.pluck, asked=asked, hz=before)
    if event.octave_doubt > MOST_DOUBT or event.pluck == watch.jumped:
        return watch
    upper = shifted(event.frequency_hz, Cents(2.0 * event.std_error_cents))
    turning = abs(event.drift_cents_per_s) > TURNING
    earlier = tuple(entry for entry in watch.roll if entry[0] != event.pluck)
    if before is not None and abs(cents(upper, before)) > MOST_JUMP and not turning:
        return replace(watch, roll=earlier, jumped=event.pluck)
    watch = replace(watch, hz=upper)
    if turning or (watch.counted is not None and event.pluck == watch.counted[0]):
        return _going_on(watch, strung, upper, turning=turning)
    lower = shifted(event.frequency_hz, Cents(-2.0 * event.std_error_cents))
    watch = replace(watch, roll=(*earlier, (event.pluck, asked, upper, lower))[-REMEMBERED:])
    return _near_breaking(watch, strung, upper) or _heard(watch, strung, event.at, upper)


def _near_breaking(watch: Watch, strung: Strung, upper: Hz) -> Watch | None:
    """A pitch that sounds a second time, and at which any string that can bear it is near breaking.

    It is the one that bears it best, whatever was asked for.
    """
    able = [s for s in map(strung.of, (b.name for b in watch.bounds)) if upper <= s.highest_hz]
    if not twice(watch, upper) or not able or any(s.load_at(upper) < MARGIN for s in able):
        return None
    best = watch.of(min(able, key=lambda s: s.load_at(upper)).name)
    return watch.knowing(best.heard(upper, upper, watch.pluck))


def _heard(watch: Watch, strung: Strung, at: Seconds, upper: Hz) -> Watch:
    """The bounds lowered of the strings that sounded since the last turn."""
    if not _able(watch, strung, upper, watch.roll[-1][3]):
        return _beyond(watch, strung, upper)
    names = [b.name for b in watch.bounds]
    found = told_apart(
        watch.roll,
        names,
        lambda n, hz, lowest, fell: _effort(watch, strung, n, hz, lowest, fell=fell),
        lambda n: watch.of(n).turned(strung.of(n)),
        lambda n, hz: _expected(watch, strung, n, hz),
    )
    if any(b.high_hz is None for b in watch.bounds) and not _all_as_asked(watch, strung, found):
        found = {}
    if at <= watch.vouched_until:
        sure = {name: heard for name, heard in found.items() if heard.pluck >= 0}
        found |= _as_asked(watch, strung, upper) | sure
    return watch.knowing(*(watch.of(n).heard(*heard) for n, heard in found.items()))


def _all_as_asked(watch: Watch, strung: Strung, found: Heights) -> bool:
    """Before anything is known all are heard, each when it was asked for, a flat highest one twice."""
    top = watch.bounds[-1].name
    if len(found) < len(watch.bounds):
        return False
    if strung.off(found[top].high_hz, top) < PLACE_BELOW and not asked_twice(
        watch, strung, top, found[top].high_hz
    ):
        return False
    return all(
        any(asked in {None, name} and at.low_hz <= hz <= at.high_hz for _, asked, hz, _ in watch.roll)
        for name, at in found.items()
    )


def _effort(  # noqa: PLR0913 - a reading has two ends
    watch: Watch, strung: Strung, name: str, hz: Hz, lowest: Hz, *, fell: bool = False
) -> float | None:
    return watch.of(name).effort(hz, lowest, strung.of(name), top=name == watch.bounds[-1].name, fell=fell)


def _expected(watch: Watch, strung: Strung, name: str, hz: Hz) -> bool:
    """Whether a single sounding at a pitch may be believed to be this string."""
    bound, highest = watch.of(name), watch.bounds[-1].name
    if bound.high_hz is None and name == highest and strung.off(hz, name) < PLACE_BELOW:
        return False
    return bound.may_sound(hz, strung.of(name))


def _able(watch: Watch, strung: Strung, hz: Hz, lowest: Hz) -> list[Bound]:
    """The strings that can be at a pitch, the one asked for if need be by a peg that slipped."""
    asked = watch.asked
    return [
        b
        for b in watch.bounds
        if _effort(watch, strung, b.name, hz, lowest, fell=asked in {None, b.name}) is not None
    ]


def _going_on(watch: Watch, strung: Strung, upper: Hz, *, turning: bool) -> Watch:
    """A turn may be under way while this sounds: what was asked for last counts on, or counts again."""
    sure = [b for b in watch.bounds if b.pluck == watch.pluck]
    able = _able(watch, strung, upper, upper) if turning else []
    peg, screw = literal(watch.counted[1], strung) if watch.counted is not None else (0.0, 0.0)
    heard = [b for b in sure or able if b.high_hz is not None and (sure or len(able) == 1)]
    return watch.knowing(*(b.going_on(upper, peg, screw, turning=turning, sure=bool(sure)) for b in heard))


def _as_asked(watch: Watch, strung: Strung, hz: Hz) -> dict[str, Sounded]:
    """What sounded, where a grown-up vouches for it that the strings asked for were plucked."""
    names = [b.name for b in watch.bounds]
    if all(b.high_hz is not None for b in watch.bounds) and not rising(watch.roll, names):
        return _vouched_for(watch, strung, hz)
    found = surveyed(watch.roll, strung, names) or {}
    return {
        name: Sounded(hz, hz, pluck)
        for name, (hz, pluck) in found.items()
        if _expected(watch, strung, name, hz)
        or asked_twice(watch, strung, name, hz)
        or (watch.of(name).high_hz is None and name != names[-1])
    }


def _vouched_for(watch: Watch, strung: Strung, hz: Hz) -> dict[str, Sounded]:
    """The string asked for, where it sounded like this twice when it was, and no other was heard there."""
    bound = watch.of(watch.asked)
    alike = [entry for entry in watch.roll if abs(cents(entry[2], hz)) <= LIKE_PLUCKS]
    others = [b.high_hz for b in watch.bounds if b.name != bound.name and b.high_hz is not None]
    others += [heard for _, asked, heard, _ in watch.roll if asked != bound.name]
    asked = [entry for entry in alike if entry[1] == bound.name]
    apart = all(abs(cents(hz, other)) > APART for other in others)
    if len(asked) <= 1 or not apart or not bound.may_sound(hz, strung.of(bound.name)):
        return {}
    return {bound.name: Sounded(watch.roll[-1][3], hz, watch.pluck)}


def twice(watch: Watch, hz: Hz) -> bool:
    """Whether a pitch sounded at least twice since the last turn."""
    return sum(abs(cents(heard, hz)) <= LIKE_PLUCKS for *_, heard, _ in watch.roll) > 1


def asked_twice(watch: Watch, strung: Strung, name: str, hz: Hz) -> bool:
    """Whether two soundings that a string was asked for in were at a pitch, and none since was higher.

    What sounds above where all others count as in their places must be the highest one's, asked for or not.
    """
    *others, top = (b.name for b in watch.bounds)
    above = max((shifted(strung.of(n).target_hz, PLACE_ABOVE) for n in others), default=LEAST_HZ)
    own = [at for _, asked, at, low in watch.roll if asked in {None, name} or (name == top and low > above)]
    alike = [place for place, heard in enumerate(own) if abs(cents(heard, hz)) <= LIKE_PLUCKS]
    return len(alike) > 1 and all(cents(heard, hz) <= LIKE_PLUCKS for heard in own[alike[-2] :])


def _beyond(watch: Watch, strung: Strung, upper: Hz) -> Watch:
    """A pitch that nothing explains: the string asked for may have gone up to it."""
    alike = tuple(entry for entry in watch.roll if abs(cents(entry[2], upper)) <= LIKE_PLUCKS)
    watch = replace(watch, roll=alike)  # what sounded before it went up says nothing any more
    bound = watch.of(watch.asked)
    if bound.high_hz is None or not bound.high_hz < upper <= strung.of(bound.name).highest_hz:
        return watch
    if cents(upper, bound.high_hz) <= LEAP:
        return watch.knowing(replace(bound, high_hz=upper, pluck=watch.pluck))
    leapt = replace(bound.leaping(upper, watch.pluck), high_hz=upper)
    return replace(watch.knowing(leapt), jumped=watch.pluck)


def literal(advice: Advice, strung: Strung) -> tuple[float, float]:
    """Degrees of peg and of screw that a picture may bring about; (0, 0) without a turn."""
    if advice.turn is TuningPart.NONE or advice.warning is not None:
        return 0.0, 0.0
    return carried_out(advice.turn, advice.degrees, strung.degrees(advice.turn)[advice.amount or Amount.MORE])


def to_be_heard(watch: Watch, strung: Strung, names: Iterable[str]) -> tuple[str, ...]:
    """The strings to pluck so that these are known again: whichever may be taken for one counts, too."""
    wanted, more = set[str](), set(names)
    while more:
        wanted |= more
        at = [watch.of(n).high_hz or strung.of(n).target_hz for n in more]
        at += [hz for _, asked, hz, _ in watch.roll if asked in more]
        open_ = [b.name for b in watch.bounds if b.name not in wanted and not b.fresh]
        more = {n for n in open_ if any(_effort(watch, strung, n, hz, hz) is not None for hz in at)}
    return tuple(b.name for b in watch.bounds if b.name in wanted)
