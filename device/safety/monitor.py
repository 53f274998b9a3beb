"""The safety monitor: no picture may ask for a turn that could break a string.

The lesson may be as clever as it likes and may err; this stands apart from it and trusts none of its
conclusions (a run-time monitor beside a complex controller: L. Sha, "Using simplicity to control
complexity", IEEE Software 18 (2001)). `string_bounds` keeps an upper bound of each string's load; by these
rules it holds back what could take one to the margin of breaking:

* A turn that is asked for counts on every string that has such a part, tightening whichever way was
  asked, by twice what was asked or by what the picture shows, if that is more.
* While a turn could take any string to the margin of breaking, another picture comes instead of it. So it
  does while a string stands far above its place and the turn would tighten.
* One exception: a string near its margin is let down by the least there is, if it was heard since the last
  turn and would bear it the wrong way round, twice over if the pluck between is not heard. One that was
  heard to rise when it was to be let down gets STOP and no more turns, until it is heard back down.
"""

from device.instrument.frozen import replace
from device.instrument.strung import MARGIN, Strung
from device.instrument.tuning_parts import Amount
from device.lesson.advice import Advice, Alarm, Say
from device.safety.string_bounds import Watch, literal
from dsp import Cents

SHARP = Cents(210.0)
"""While a string stands so far above its place nothing is tightened: it was wound up by mistake, and how much
more it bears than at its place is known from memory only (`WOUND_LOAD`). A tone more is 1.26 times
the load."""


def in_danger(watch: Watch, strung: Strung, advice: Advice) -> tuple[str, ...]:
    """The strings that this turn could take to the margin of breaking, the nearest to it first."""
    peg, screw = literal(advice, strung)
    if not (peg or screw):
        return ()
    loads = {b.name: b.load(strung.of(b.name), peg, screw) for b in watch.bounds}
    sharp = {
        b.name
        for b in watch.bounds
        if advice.tightens and b.high_hz and strung.off(b.high_hz, b.name) > SHARP
    }
    moved = [n for n in loads if peg or strung.of(n).screw_load]
    reached = [n for n in moved if loads[n] >= MARGIN or n in sharp]
    least = not advice.tightens and advice.amount is Amount.A_HAIR
    asked = watch.of(advice.string)
    again = asked.load(strung.of(asked.name), 2.0 * peg, 2.0 * screw)  # a pluck between may go unheard
    spared = asked.name if least and asked.fresh and again < 1.0 else None
    return tuple(sorted((n for n in reached if n != spared), key=lambda name: -loads[name]))


def passed(watch: Watch, strung: Strung, advice: Advice) -> tuple[Advice, Watch]:
    """What may be shown, and the watch that has counted it."""
    for b in watch.bounds:
        heard = b.high_hz if b.pluck == watch.pluck else None
        near = heard is not None and strung.of(b.name).load_at(heard) >= MARGIN
        if near and dict(watch.stopped).get(b.name) in {None, watch.pluck}:
            stopped = (*(s for s in watch.stopped if s[0] != b.name), (b.name, watch.pluck))
            return Advice(Say.WAIT, string=b.name, warning=Alarm.STOP), replace(watch, stopped=stopped)
    peg, screw = literal(advice, strung)
    if not (peg or screw):
        return advice, watch
    asked = watch.of(advice.string)
    if asked.rose(strung.of(asked.name)):
        return Advice(Say.WAIT, string=advice.string, warning=Alarm.STOP), watch
    if watch.counted == (watch.pluck, advice):
        return advice, watch
    if endangered := in_danger(watch, strung, advice):
        return Advice(Say.PLUCK_OTHERS, string=endangered[0]), watch
    bounds = tuple(replace(b, peg=b.peg + peg, screw=b.screw + screw) for b in watch.bounds)
    eased = None if advice.tightens else asked.eased_hz or asked.highest(strung.of(asked.name))
    bounds = tuple(replace(b, eased_hz=eased) if b.name == asked.name else b for b in bounds)
    return advice, replace(watch, bounds=bounds, roll=(), counted=(watch.pluck, advice))
