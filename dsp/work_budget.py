"""A ceiling on the work for a second of sound, whatever is heard.

Work is counted in millions of instructions, by what each kind of step takes on average (callgrind; plucks and
speech in a violin's range). It is allowed out of a store that fills evenly and holds little: in `t` seconds
no more is done than `A_SECOND` times `t`, the store, and the one step that was begun last. What has just
begun to sound may use all of the store; what is older, or only hoped for, leaves a reserve for it, and is
then done less often.
"""

from collections import deque

from dsp.tracking import Followed

A_SECOND = 190.0  # that the store fills by in a second of sound
STORE = 140.0  # that it holds: a low pluck takes some 110 in its first 0.25 s
RESERVE = 20.0  # left in it for what is young,
HOPED_RESERVE = 40.0  # and for whatever is followed, by what is only hoped for; chosen
LOOK = 6.5  # a spectrum in which a pitch is sought and its octave weighed
GLIMPSE = 8.0  # two short spectra
FOLLOWING = 2.0  # the newest blocks of the partials, and how the pitch moved
SOLVING = 3.5  # a settling course
EXPECTING_ANEW = 4.5  # partials expected elsewhere, and the sound gone over again
# Of one hop: a note and its new stroke, each expected elsewhere.
DEAREST_STEP = 2.0 * (FOLLOWING + 2.0 * SOLVING + EXPECTING_ANEW)
# Looks in a second: twelve leave the lowest string of a bass unheard, and more take hops of glimpses.
MOST_LOOKS = 13


class WorkBudget:
    """What may still be done."""

    def __init__(self) -> None:
        self.done = 0.0  # since the stream began
        self._left, self._at_s = STORE, 0.0
        self._looks = deque[float](maxlen=MOST_LOOKS)  # when the last were made

    def allows(self, now_s: float, *, young: bool) -> bool:
        """Whether another step may be begun at this time of the stream, for something young or not."""
        self._left = min(self._left + A_SECOND * (now_s - self._at_s), STORE)
        self._at_s = now_s
        return self._left > (0.0 if young else RESERVE)

    def allows_hope(self, now_s: float) -> bool:
        """The same for a step that is only hoped to lead somewhere."""
        return self.allows(now_s, young=False) and self._left > HOPED_RESERVE

    def allows_look(self, now_s: float, *, young: bool) -> bool:
        """The same for a look, which is taken if so."""
        often = len(self._looks) == MOST_LOOKS and now_s - self._looks[0] < 1.0
        if often or not self.allows(now_s, young=young):
            return False
        self._looks.append(now_s)
        self.spend(LOOK)
        return self._left > (0.0 if young else RESERVE)

    def spend(self, work: float) -> None:
        """Take what was done."""
        self._left -= work
        self.done += work


def fit_work(before: Followed, after: Followed) -> float:
    """What it took to bring a note up to date."""
    solved = SOLVING * (after.settled is not before.settled)
    return FOLLOWING + solved + (EXPECTING_ANEW + solved) * (after.base is not before.base)
