"""What the player has in front of them: which string lies where, seen from where they sit."""

from dataclasses import dataclass

from device.config.settings import Settings
from device.lesson.state import Coach
from dsp import Instrument

_HELD_FROM_BEHIND = frozenset({Instrument.CELLO, Instrument.DOUBLE_BASS})


@dataclass(frozen=True, slots=True)
class View:
    """The strings from the player's left to their right."""

    names: tuple[str, ...]
    low_on_the_left: bool
    from_behind: bool = False  # the player sits or stands behind the instrument

    @property
    def count(self) -> int:
        """How many strings there are."""
        return len(self.names)

    def place(self, name: str | None) -> int | None:
        """Where a string lies, 0 for the player's left; None for one that is not there."""
        return self.names.index(name) if name in self.names else None


def view_of(settings: Settings, coach: Coach) -> View:
    """Violin and viola lie in the lap with the strings up: the low ones on the left.

    A cellist sits, and a bass player stands, behind the instrument and sees it the other way round
    (common practice); on a left-handed instrument the sides are changed.
    """
    from_behind = settings.instrument in _HELD_FROM_BEHIND
    low_on_the_left = from_behind is settings.left_handed
    names = tuple(string.name for string in coach.strings)
    return View(names if low_on_the_left else names[::-1], low_on_the_left, from_behind)
