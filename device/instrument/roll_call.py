"""Which pitch is which string, from what sounded while nothing was turned.

All strings are heard, and a pitch is believed to be a string's in three cases only. Each pitch lies in its
string's own place. Or the strings were asked for from the lowest up, and each sounded higher than the one
before. Or all but one are in their places, and that one sounded twice alike and like none of the others.
"""

from itertools import pairwise

from device.instrument.strung import Strung
from dsp import Cents, Hz, cents

PLACE_BELOW, PLACE_ABOVE = Cents(-150.0), Cents(250.0)  # a string here is in its place
LIKE_PLUCKS = Cents(20.0)
"""Two plucks of one string. Chosen: a hard pluck starts 10 to 13 cents sharp on recorded violins, up to 40,
but the reading that counts is the settled one."""
APART = Cents(35.0)
"""Two strings. Chosen: more than two plucks of one string differ, so that one plucked twice is never taken
for two; strings nearer than this are not believed, which costs plucks and nothing else."""

Roll = tuple[tuple[int, str | None, Hz], ...]
"""Sounding, string asked for (None: any), pitch."""


def surveyed(roll: Roll, strung: Strung, names: list[str]) -> dict[str, tuple[Hz, int]] | None:
    """Pitch and sounding of each, if what sounded since the last turn leaves no other way to see it."""
    last = roll[-len(names) :]
    rising = all(cents(b[2], a[2]) > APART for a, b in pairwise(last))
    if [entry[1] for entry in last] == names and rising:
        return {name: (hz, pluck) for name, (pluck, _, hz) in zip(names, last, strict=True)}
    places: dict[str, tuple[Hz, int]] = {}
    for pluck, asked, hz in roll:
        near = strung.nearest(hz)
        if asked in {None, near} and PLACE_BELOW <= strung.off(hz, near) <= PLACE_ABOVE and near in names:
            places[near] = (hz, pluck)
    missing = [name for name in names if name not in places]
    if not missing:
        return places
    tried = [(hz, pluck) for pluck, asked, hz in roll if asked == missing[0]][-2:]
    sure = len(tried) > 1 and abs(cents(tried[0][0], tried[1][0])) <= LIKE_PLUCKS
    apart = sure and all(abs(cents(tried[-1][0], hz)) > APART for hz, _ in places.values())
    return {**places, missing[0]: tried[-1]} if apart and len(missing) == 1 else None
