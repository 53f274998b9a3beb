"""The safety monitor: no picture may ask for a turn that could break a string.

The lesson may be as clever as it likes and may err; this stands apart from it and trusts none of its
conclusions (a run-time monitor beside a complex controller: L. Sha, "Using simplicity to control
complexity", IEEE Software 18 (2001)). It keeps an upper bound of each string's load and holds to these rules:

* A turn that is asked for counts on every string that has such a part, tightening whichever way was
  asked, by twice what was asked or by what the picture shows, if that is more.
* Only hearing that very string lowers its bound: the octave is sure, and the pitch lies where this string
  alone can be. Before anything is known, and after a string let go, all are heard once: each in
  its place, or one after the other, low to high, each higher than the last.
* Winding one string lets the others down a little; nothing here counts on that.
* While the picture's turn could take any string to the margin of breaking, another picture comes instead: pluck
  the string that might be too high, or STOP where it was heard to be.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from device.events import Heard
from device.instrument.strung import MARGIN, Strung, StrungString
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from dsp import Cents, Hz, cents, shifted

TWICE = 2.0  # a hand may turn twice as far as asked
DRAWN_OVER = 1.25  # a fine tuner's arrow sweeps up to a quarter further than the turn
MOST_DOUBT = 0.1  # octave_doubt, 0..1
FALLS = Cents(350.0)  # so far a string may be lower than it was last heard: a peg slipped
PULLED = Cents(30.0)  # and so much higher than reckoned: let up by the others, two standard errors
PLACE_BELOW, PLACE_ABOVE = Cents(-150.0), Cents(250.0)  # a string here is in its place
ALIKE, APART = Cents(20.0), Cents(60.0)  # two plucks of one string; two strings
JUMPS = Cents(400.0)  # further above its bound a single reading is taken for a misread one
TURNING = 8.0  # cents a second: this string is being turned while it is heard
REMEMBERED = 16  # soundings since the last turn that was asked


@dataclass(frozen=True, slots=True)
class Bound:
    """How high one string may be. `high_hz` None: it was never heard, and may be anywhere."""

    name: str
    high_hz: Hz | None = None  # as last heard, the reading's error added
    low_hz: Hz = Hz(0.0)  # it is not expected lower than this
    peg: float = 0.0  # degrees of tightening reckoned with since then
    screw: float = 0.0
    pluck: int = -1  # the sounding it was heard in

    def load(self, string: StrungString, peg: float = 0.0, screw: float = 0.0) -> float:
        """Share of the least breaking load that it may carry, after so many more degrees."""
        if self.high_hz is None:
            return float("inf")
        turned = (self.peg + peg) * string.peg_load + (self.screw + screw) * string.screw_load
        return string.load_at(self.high_hz) + turned

    def may_sound(self, hz: Hz, string: StrungString) -> bool:
        """Whether this string can be at a pitch."""
        if self.high_hz is None:
            return hz <= string.highest_hz
        highest = string.made_hz * (self.load(string) / string.load) ** 0.5
        return self.low_hz <= hz <= shifted(Hz(highest), PULLED)


@dataclass(frozen=True, slots=True)
class Watch:
    """What the monitor knows: a bound for each string, and what sounded since the last turn."""

    bounds: tuple[Bound, ...] = ()
    roll: tuple[tuple[int, str | None, Hz], ...] = ()  # sounding, string asked for, pitch
    counted: tuple[int, Advice] | None = None  # the turn that was counted last, and its sounding

    def of(self, name: str) -> Bound:
        """One string's bound; KeyError for a string that is not there."""
        return {bound.name: bound for bound in self.bounds}[name]

    def knowing(self, new: Iterable[Bound]) -> "Watch":
        """With some bounds replaced."""
        fresh = {bound.name: bound for bound in new}
        return replace(self, bounds=tuple(fresh.get(b.name, b) for b in self.bounds))


def watching(names: Iterable[str]) -> Watch:
    """A new watch over these strings: nothing is known of any."""
    return Watch(tuple(Bound(name) for name in names))


def literal(advice: Advice, strung: Strung) -> tuple[float, float]:
    """Degrees of peg and of screw that a picture may bring about; it is (0, 0) without a turn."""
    if advice.part is TuningPart.NONE or advice.warning is not None:
        return 0.0, 0.0
    stands_for = strung.degrees(advice.part)[advice.amount or Amount.MORE]
    asked = stands_for if advice.degrees is None else advice.degrees
    if advice.part is TuningPart.PEG:
        return max(TWICE * asked, stands_for), 0.0
    return 0.0, max(TWICE * asked, DRAWN_OVER * asked)


def in_danger(watch: Watch, strung: Strung, advice: Advice) -> tuple[str, ...]:
    """The strings that this picture could take to the margin of breaking, the nearest to it first."""
    peg, screw = literal(advice, strung)
    loads = {b.name: b.load(strung.of(b.name), peg, screw) for b in watch.bounds}
    reached = [name for name, load in loads.items() if load >= MARGIN]
    return tuple(sorted(reached, key=lambda name: -loads[name])) if peg or screw else ()


def passed(watch: Watch, strung: Strung, advice: Advice) -> Advice:
    """The picture, or what comes instead of one that asks to tighten and may break a string."""
    if advice.tightens is False:
        return advice
    for name in in_danger(watch, strung, advice):
        bound = watch.of(name)
        if bound.high_hz is not None and strung.of(name).load_at(bound.high_hz) >= MARGIN:
            return Advice(Say.WAIT, string=name, warning=Alarm.STOP)
        return Advice(Say.PLUCK_OTHERS, string=name)
    return advice
