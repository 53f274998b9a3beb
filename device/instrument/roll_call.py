"""Which pitch is which string, from what sounded while nothing was turned.

`told_apart` asks nobody which string was plucked. No string has two pitches at once, so different
pitches are different strings: every way to give each pitch a string of its own that can sound it is a
way in which it may have been (a matching of a bipartite graph). A string that has a pitch in each of them did
sound, and it stands no higher than the highest of those pitches.

`surveyed` believes that what was asked for was plucked, which only a grown-up at the pegs can vouch for: two
strings that sound alike and are always taken for each other, in plucking and in turning, give the same
readings as the right ones do. Even so a pitch is believed to be a string's in three cases only. Each
pitch lies in its string's own place. Or the strings were asked for from the lowest up, and each sounded
higher than the one before. Or all but one are in their places, and that one sounded twice alike and like none
of the others.
"""

from collections.abc import Callable, Iterator
from itertools import pairwise, product
from typing import NamedTuple

from device.instrument.strung import Strung
from dsp import Cents, Hz, cents

PLACE_BELOW, PLACE_ABOVE = Cents(-150.0), Cents(250.0)  # a string here is in its place
LIKE_PLUCKS = Cents(20.0)
"""Two plucks of one string. Chosen: a hard pluck starts 10 to 13 cents sharp on recorded violins, up to 40,
but the reading that counts is the settled one."""
APART = Cents(35.0)
"""Two strings. Chosen: more than two plucks of one string differ, so that one plucked twice is never taken
for two; strings nearer than this are not believed, which costs plucks and nothing else."""

Roll = tuple[tuple[int, str | None, Hz, Hz], ...]
"""Sounding, string asked for (None: any), and its pitch with twice the error added, and taken away."""


Effort = Callable[[str, Hz, Hz, bool], float | None]
Turned = Callable[[str], float]
Expected = Callable[[str, Hz], bool]


class Sounded(NamedTuple):
    """A string that did sound since the last turn: between which pitches it stands, and in which sounding."""

    low_hz: Hz
    high_hz: Hz
    pluck: int  # -1 where several pitches may be this string's


Heights = dict[str, Sounded]


def told_apart(roll: Roll, names: list[str], effort: Effort, turned: Turned, expected: Expected) -> Heights:
    """The strings that sounded since the last turn, whatever was plucked.

    `effort` is how far a string must have been turned to sound like that, as high and as low as the reading
    may be, None where it cannot, with or without a peg that slipped, which is thought of only where nothing
    else explains what sounded; `turned` is how far all strings together were, at the most, since one was
    heard; `expected` is whether a string is
    to be expected at a pitch. A pitch counts when it sounded twice, or where the string asked for is to be
    expected: any other may be misread. Where pitches contradict each other, only the latest count.
    """
    for first, fell in product(range(len(roll)), (False, True)):
        pitches = [pitch for pitch in _pitches(roll[first:]) if _counts(pitch, names, expected)]
        ways = [
            tuple(way) for way in _ways([_who(p, names, effort, fell) for p in pitches]) if _done(way, turned)
        ]
        if ways:
            break
    else:
        return {}
    found = {name: {way.index(name) for way in ways} for name in names if all(name in way for way in ways)}
    heard = {name: [pitches[place] for place in places] for name, places in found.items()}
    return {name: _sounded(own) for name, own in heard.items() if _sure(own, name)}


def _sure(pitches: list[Roll], name: str) -> bool:
    """Whether a string may be lowered to these: what sounded once may be the string asked for, misread."""
    asked = any(entry[1] in {None, name} for pitch in pitches for entry in pitch)
    return asked or (len(pitches) == 1 and len(pitches[0]) > 1)


def _who(pitch: Roll, names: list[str], effort: Effort, fell: bool) -> dict[str, float]:
    """The strings that can sound at this pitch, and how far each must have been turned for it."""
    able = {}
    for name in names:
        efforts = [needed for *_, hz, low in pitch if (needed := effort(name, hz, low, fell)) is not None]
        if efforts:
            able[name] = min(efforts)
    return able


def _done(way: dict[str, float], turned: Turned) -> bool:
    """Whether one hand can have done all of this: each degree went to one string."""
    moved = [name for name, needed in way.items() if needed]
    return sum(way.values()) <= max((turned(name) for name in moved), default=0.0) + 1e-9


def _counts(pitch: Roll, names: list[str], expected: Expected) -> bool:
    return len(pitch) > 1 or any(
        expected(name, hz) for _, asked, hz, _ in pitch for name in names if asked in {None, name}
    )


def _pitches(roll: Roll) -> list[Roll]:
    """What sounded, by pitch from the lowest up; soundings that may be less than APART apart are one."""
    pitches: list[Roll] = []
    for entry in sorted(roll, key=lambda entry: entry[2]):
        if pitches and cents(entry[3], pitches[-1][-1][2]) <= APART:
            pitches[-1] = (*pitches[-1], entry)
        else:
            pitches.append((entry,))
    return pitches


def _ways(who: list[dict[str, float]], taken: dict[str, float] | None = None) -> Iterator[dict[str, float]]:
    """Every way to give each pitch a string of its own, in the order of the pitches."""
    taken = taken or {}
    if not who:
        yield taken
    for name, needed in who[0].items() if who else ():
        if name not in taken:
            yield from _ways(who[1:], {**taken, name: needed})


def _sounded(pitches: list[Roll]) -> Sounded:
    entries = [entry for pitch in pitches for entry in pitch]
    latest = max(pluck for pluck, *_ in entries)
    low, high = min(entry[3] for entry in entries), max(entry[2] for entry in entries)
    return Sounded(low, high, latest if len(pitches) == 1 else -1)


def rising(roll: Roll, names: list[str]) -> bool:
    """Whether all were asked for from the lowest up, last of all, and each sounded above the one before."""
    last = roll[-len(names) :]
    called = [asked for _, asked, *_ in last] == names
    return called and all(cents(b[3], a[2]) > APART for a, b in pairwise(last))


def surveyed(roll: Roll, strung: Strung, names: list[str]) -> dict[str, tuple[Hz, int]] | None:
    """Pitch and sounding of each, if what sounded since the last turn leaves no other way to see it."""
    if rising(roll, names):
        last = roll[-len(names) :]
        return {name: (hz, pluck) for name, (pluck, _, hz, _) in zip(names, last, strict=True)}
    places: dict[str, tuple[Hz, int]] = {}
    for pluck, asked, hz, _ in roll:
        near = strung.nearest(hz)
        if asked in {None, near} and PLACE_BELOW <= strung.off(hz, near) <= PLACE_ABOVE and near in names:
            places[near] = (hz, pluck)
    missing = [name for name in names if name not in places]
    if not missing:
        return places
    tried = [(hz, pluck) for pluck, asked, hz, _ in roll if asked == missing[0]][-2:]
    sure = len(tried) > 1 and abs(cents(tried[0][0], tried[1][0])) <= LIKE_PLUCKS
    apart = sure and all(abs(cents(tried[-1][0], hz)) > APART for hz, _ in places.values())
    return {**places, missing[0]: tried[-1]} if apart and len(missing) == 1 else None
