"""Work that may hang, done in the background with a limit to patience.

Opening and closing a device can block for seconds, or for ever, inside a library that offers no
way out. The loop must go on meanwhile; and when it is clear that the library hangs, the only cure
is to end the process and let the service manager start it again.
"""

import threading
import time
from collections.abc import Callable
from typing import Generic, TypeVar

from device.errors import NotYetError, StuckError

Result = TypeVar("Result")

PATIENCE_S = 30.0  # longer than the 22 s that closing a suspended source was seen to take


class Patiently(Generic[Result]):
    """Calls `work` in a thread; each call here tells how it stands and never waits.

    Parameters
    ----------
    what : what is being done, for the journal
    work : may take long, may hang, may raise PartError
    limit_s : after so long it counts as hanging
    now : monotonic seconds
    """

    def __init__(
        self,
        what: str,
        work: Callable[[], Result],
        limit_s: float = PATIENCE_S,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._what, self._work, self._limit, self._now = what, work, limit_s, now
        self._thread: threading.Thread | None = None
        self._begun = 0.0
        self._outcome: list[Result | Exception] = []

    def __call__(self) -> Result:
        """The result once it is there.

        Raises NotYetError while it is not, and what the work raised; StuckError beyond the limit.
        """
        if self._thread is None:
            self._begin()
        thread = self._thread
        if thread is not None and thread.is_alive():
            if self._now() - self._begun > self._limit:
                raise StuckError(f"{self._what} has been hanging for {self._limit:g} s")
            raise NotYetError(f"{self._what} is not done yet")
        self._thread = None
        outcome = self._outcome.pop()
        if isinstance(outcome, Exception):
            raise outcome
        return outcome

    def _begin(self) -> None:
        self._begun = self._now()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _run(self) -> None:
        try:
            self._outcome.append(self._work())
        except Exception as failure:
            self._outcome.append(failure)
