"""How high a string may be: from what was last heard of it, and every turn asked for since.

The safety monitor's own figures; nothing else sets them. Where a figure is not known, the worst end counts.
"""

from dataclasses import dataclass

from device.instrument.frozen import replace
from device.instrument.roll_call import PLACE_ABOVE
from device.instrument.strung import MARGIN, StrungString
from dsp import Cents, Hz, cents, shifted

FALLS = Cents(-350.0)
"""So far a string may be under what was last heard: a peg slipped. Chosen by us, and no bound hangs on it: a
string that fell further is not recognised, and an unrecognised string keeps its old, higher bound."""
LEAP = Cents(400.0)
"""A reading so much higher than the last may be a fifth or an octave wrong. Then the string is known again by
two alike, there or where it was before."""
PULLED = Cents(30.0)
"""And so much higher than reckoned. A string let down by a fifth lets the others up by 4 % of it at the most
(`COUPLING`), which is 28 cents; a reading's own error is added apart. Chosen by us for that worst end."""
ERRED = Cents(12.0)
"""Beside a string near breaking no other is let down by more than a hair, which pulls it by 3 cents at the
most; the rest is two readings' errors. Chosen by us: what rises by more goes the wrong way, and is stopped
before it is turned again."""


@dataclass(frozen=True, slots=True)
class Bound:
    """How high one string may be. `high_hz` None: it was never heard, and may be anywhere."""

    name: str
    high_hz: Hz | None = None  # as last heard, with twice the reading's error added
    low_hz: Hz = Hz(0.0)  # it is not expected lower than this
    peg: float = 0.0  # degrees of tightening reckoned with since then
    screw: float = 0.0
    pluck: int = -1  # the sounding it was heard in
    eased_hz: Hz | None = None  # the lowest it was heard since it is to be let down
    leapt: tuple[int, Hz] | None = None  # in this sounding it leapt up, or was misread; `low_hz` before that

    def rose(self, string: StrungString) -> bool:
        """Whether it was heard to rise though it was to be let down."""
        heard, eased = self.high_hz, self.eased_hz
        if heard is None or eased is None:
            return False
        return cents(heard, eased) > (PULLED if string.load_at(heard) < MARGIN else ERRED)

    @property
    def fresh(self) -> bool:
        """Whether it was heard since the last turn that was asked for."""
        return self.high_hz is not None and not (self.peg or self.screw)

    def load(self, string: StrungString, peg: float = 0.0, screw: float = 0.0) -> float:
        """Share of the least breaking load that it may carry, after so many more degrees."""
        if self.high_hz is None:
            return float("inf")
        return string.carried(self.high_hz, self.peg + peg, self.screw + screw)

    def highest(self, string: StrungString) -> Hz | None:
        """The highest pitch that it may have; None where it was never heard."""
        return None if self.high_hz is None else string.highest_after(self.high_hz, self.peg, self.screw)

    def may_sound(self, hz: Hz, string: StrungString) -> bool:
        """Whether this string is to be expected at a pitch, as long as nobody turned it down by much.

        The interval is narrower than the fifth by which a reading may be wrong.
        """
        highest = self.highest(string)
        if highest is None:
            return FALLS <= cents(hz, string.target_hz) <= PLACE_ABOVE
        return self.low_hz <= hz <= shifted(highest, PULLED)

    def effort(
        self, hz: Hz, lowest: Hz, string: StrungString, *, top: bool, fell: bool = False
    ) -> float | None:
        """Degrees of peg that take it to a pitch, at the least; None where it cannot be at all.

        The pitch lies between `lowest` and `hz`: a string is ruled out only where neither end can be its own.
        `fell`: its peg may have slipped, which takes no hand.

        Where it was never heard it may be as slack as it likes, but it is not found higher than where a
        string counts as in its place; only the highest one (`top`) may be, since no other one is above it.
        """
        if self.high_hz is None:
            found_below = string.highest_hz if top else shifted(string.target_hz, PLACE_ABOVE)
            return 0.0 if lowest <= found_below else None
        low = self.low_hz if fell else shifted(self.low_hz, Cents(-FALLS - PULLED))
        low = low if self.leapt is None else min(low, self.leapt[1])
        high = shifted(self.high_hz, PULLED)
        wanted = max(
            string.tension(lowest) - string.tension(high), string.tension(low) - string.tension(hz), 0.0
        )
        room = max(
            (self.peg * by_peg + self.screw * by_screw) / load for load, by_peg, by_screw in string.ends
        )
        return wanted / max(by_peg / load for load, by_peg, _ in string.ends) if wanted <= room else None

    def turned(self, string: StrungString) -> float:
        """All that was asked for since it was heard, in degrees of peg that do as much, at the most."""
        return self.peg + self.screw * max(by_screw / by_peg for _, by_peg, by_screw in string.ends)

    def heard(self, low: Hz, high: Hz, pluck: int) -> "Bound":
        """Heard since the last turn, between these pitches; no turn that was asked for still counts."""
        eased = None if self.eased_hz is None else min(self.eased_hz, high)
        leapt = self.leaping(high, pluck).leapt
        return Bound(self.name, high, shifted(low, FALLS), pluck=pluck, eased_hz=eased, leapt=leapt)

    def leaping(self, high: Hz, pluck: int) -> "Bound":
        """Heard in a sounding that it may have leapt up in, or was misread in."""
        again = self.leapt is not None and self.leapt[0] == pluck
        leaps = self.high_hz is not None and cents(high, self.high_hz) > LEAP
        leapt = self.leapt if again else (pluck, self.low_hz) if leaps else None
        return replace(self, leapt=leapt)

    def going_on(self, upper: Hz, peg: float, screw: float, *, turning: bool, sure: bool) -> "Bound":
        """Heard while a turn of so many degrees may be under way; not lowered unless `sure`."""
        assert self.high_hz is not None
        high = upper if sure and not turning else max(upper, self.high_hz)
        low = min(shifted(upper, FALLS), self.low_hz)
        peg, screw = max(self.peg, peg), max(self.screw, screw)
        eased = None if self.eased_hz is None else min(self.eased_hz, high)
        return replace(self, high_hz=high, low_hz=low, peg=peg, screw=screw, eased_hz=eased)
