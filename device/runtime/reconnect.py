"""Opens a lost part again, with growing pauses, until it is back.

On a wall nobody reads a log and nobody presses a reset button: a lost part is opened anew for as
long as the box runs. The pauses double, so that a dead part costs next to nothing, and are capped,
so that a part which is put back works again within seconds.
"""

from collections.abc import Callable
from typing import Generic, Protocol, TypeVar

from device.errors import NotYetError, PartError
from dsp import Seconds

FIRST_PAUSE_S = 0.25  # chosen: before the first try; a plug that wiggled is back by then
LOOK_AGAIN_S = 0.1  # chosen: while a part is being opened, which is no failure
RELAPSE_S = Seconds(60.0)  # chosen: lost again within that, it is called there after that only
LONGEST_PAUSE_S = 2.0  # chosen: who plugs the microphone in again should not think it is broken


class Closable(Protocol):
    """Anything that can be let go of, twice if need be."""

    def close(self) -> None:
        """Let go of it."""
        ...


AnyPart = TypeVar("AnyPart", bound=Closable)
Note = Callable[[str], None]
"""Takes one sentence for the journal."""


def ignore(_sentence: str) -> None:
    """Take a sentence for the journal and drop it."""


class ReconnectingPart(Generic[AnyPart]):
    """One part, present or lost, with the way to open it again.

    Parameters
    ----------
    name : what a person calls the part, for the journal
    part : the open part, or None when it was not there at the start
    reopen : opens it anew and raises PartError while it is not there; None: a lost part stays lost
    note : takes one sentence when the part is missing at the start or lost, and one when it is there;
        of a part that comes and goes, no more than that it was lost again
    """

    def __init__(
        self,
        name: str,
        part: AnyPart | None,
        reopen: Callable[[], AnyPart] | None = None,
        note: Note = ignore,
    ) -> None:
        self.part = part
        self.losses = 0
        self._name = name
        self._reopen = reopen
        self._note = note
        self._pause = FIRST_PAUSE_S
        self._due: Seconds | None = None  # None: at once
        self._told = False  # that it is not there
        self._known = part is not None  # that it is there
        self._opened = self._there_since = Seconds(float("-inf"))
        self._proof_s = Seconds(0.0)  # how long it has to be there before that is told

    def seek(self, at: Seconds) -> AnyPart | None:
        """The part, opened anew when it is lost and a try is due; None while it is lost."""
        if self.part is None and self._reopen is not None and (self._due is None or at >= self._due):
            try:
                self.part = self._reopen()
                self._pause = FIRST_PAUSE_S
                self._opened = at
            except NotYetError:
                self._due = Seconds(at + LOOK_AGAIN_S)
            except PartError as why:
                self._tell(f"not there ({why})")
                self._wait(at)
        if self.part is not None and at - self._opened >= self._proof_s:
            self._tell_there(at)
        return self.part

    def lose(self, at: Seconds, why: Exception) -> None:
        """Let go of a part that failed; it is sought again after a pause."""
        if self.part is None:
            return
        if not self._told:
            self._proof_s = RELAPSE_S if at - self._there_since < RELAPSE_S else Seconds(0.0)
        self._tell(f"lost ({why})")
        self.losses += 1
        self._let_go()
        self._wait(at)

    def close(self) -> None:
        """Let go of the part for good."""
        self._reopen = None
        self._let_go()

    def _let_go(self) -> None:
        part, self.part = self.part, None
        if part is not None:
            try:
                part.close()
            except PartError as failure:
                self._note(f"{self._name}: {failure}")

    def _tell_there(self, at: Seconds) -> None:
        if not self._known:
            self._known, self._told = True, False
            if self.losses > 0:
                self._there_since = at
            self._note(f"{self._name}: there")

    def _tell(self, what: str) -> None:
        """Say once that it is not there, however often it is sought."""
        if not self._told:
            self._told, self._known = True, False
            self._note(f"{self._name}: {what}")

    def _wait(self, at: Seconds) -> None:
        self._due = Seconds(at + self._pause)
        self._pause = min(2.0 * self._pause, LONGEST_PAUSE_S)
