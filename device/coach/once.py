"""Working something out once for the settings in force.

A reading comes every few hundredths of a second and the settings change hardly ever, so what follows
from them alone is kept. The same object is known by itself, without comparing its fields.
"""

from collections.abc import Callable
from typing import Generic, TypeVar

from device.config.settings import Settings
from dsp import Hz

T = TypeVar("T")


class Once(Generic[T]):
    """A pure function of the settings whose last answer is kept."""

    def __init__(self, work_out: Callable[[Settings], T]) -> None:
        self._work_out = work_out
        self._last: tuple[Settings, T] | None = None

    def __call__(self, settings: Settings) -> T:
        """What follows from `settings`."""
        last = self._last  # read once: another thread may replace it
        if last is not None and last[0] is settings:
            return last[1]
        answer = self._work_out(settings)
        self._last = (settings, answer)
        return answer


def _targets(settings: Settings) -> dict[str, Hz]:
    return settings.targets


targets_of = Once(_targets)
"""Where each open string should sound, by its name, low to high."""
