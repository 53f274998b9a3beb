"""Looks at the buttons at a steady pace, apart from all other work, and keeps what it saw.

A tick of the loop lasts as long as the work on sound takes: on a busy or slowed processor longer than
a child's press. So a thread of its own reads the levels and remembers when it did; the loop fetches
all of them at once, and the debouncing, which is a pure function of time, sees every press.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Sequence

from device.errors import PartError
from device.events import Button
from device.ports import Buttons
from dsp import Seconds

LOOK_EVERY_S = 0.01  # chosen: a third of the usual debouncing time, as often as the loop itself used to look
LOOKS_KEPT = 3000  # looks: half a minute, after which the loop counts as hung and the watchdog ends it
THREAD_ENDS_WITHIN_S = 1.0  # for the thread to end; one look takes far less


class SampledButtons:
    """Buttons that are looked at in the background.

    Parameters
    ----------
    buttons : what is looked at; let go of in `close`
    now : monotonic seconds, the loop's own clock
    pace_s : from one look to the next; None: only when `look` is called
    """

    def __init__(
        self, buttons: Buttons, now: Callable[[], float] = time.monotonic, pace_s: float | None = LOOK_EVERY_S
    ) -> None:
        self._buttons, self._now = buttons, now
        self._looks: deque[tuple[Seconds, Sequence[Button]]] = deque(maxlen=LOOKS_KEPT)
        self._newest: Sequence[Button] = ()
        self._failure: Exception | None = None
        self._enough = threading.Event()
        self._thread: threading.Thread | None = None
        self.look()
        if pace_s is not None:
            self._thread = threading.Thread(target=self._watch, args=(pace_s,), daemon=True)
            self._thread.start()

    def down(self) -> Sequence[Button]:
        """Which buttons were down when they were looked at last; PartError once they cannot be read."""
        if self._failure is not None:
            raise PartError(str(self._failure)) from self._failure
        return self._newest

    def sampled(self) -> Sequence[tuple[Seconds, Sequence[Button]]]:
        """Every look since the last call, oldest first: when it was, and which buttons were down."""
        return [self._looks.popleft() for _ in range(len(self._looks))]

    def close(self) -> None:
        """Stop looking, and let go of the buttons."""
        self._enough.set()
        if self._thread is not None:
            self._thread.join(THREAD_ENDS_WITHIN_S)
            self._thread = None
        self._buttons.close()

    def look(self) -> None:
        """Look once, now."""
        at = Seconds(self._now())
        self._newest = tuple(self._buttons.down())
        self._looks.append((at, self._newest))

    def _watch(self, pace_s: float) -> None:
        """The thread: looks until it is enough or the buttons fail."""
        while not self._enough.wait(pace_s):
            try:
                self.look()
            except Exception as failure:  # handed to the loop, which knows what to do about a lost part
                self._failure = failure
                return
