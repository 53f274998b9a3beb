"""What can be chosen of the practices: what notes are called, the steps in their order, the range of tempo.

What stands at each step is said in `device.practice.read.steps` and `device.practice.count.figures`.
"""

from enum import Enum

SLOWEST_BPM, FASTEST_BPM = 40, 160  # beats a minute


class Naming(Enum):
    """What the notes are called: by letters, by letters with H for B natural, or sung."""

    LETTERS = "letters"
    LETTERS_WITH_H = "letters-with-h"
    DO_RE_MI = "do-re-mi"


class ReadStep(Enum):
    """The steps of reading notes, in their order."""

    OPEN_STRINGS = "open-strings"
    LINES = "lines"
    SPACES = "spaces"
    FIRST_FINGER = "first-finger"
    ONE_STRING = "one-string"
    TWO_STRINGS = "two-strings"
    THREE_STRINGS = "three-strings"
    ALL_STRINGS = "all-strings"
    SIGNS = "signs"
    KEYS = "keys"

    @property
    def next(self) -> "ReadStep":
        """The one after, or the last again."""
        steps = tuple(ReadStep)
        return steps[min(steps.index(self) + 1, len(steps) - 1)]


class CountStep(Enum):
    """The steps of counting bars, in their order."""

    STEADY = "steady"
    THREE = "three"
    RESTS = "rests"
    EIGHTHS = "eighths"
    EIGHTH_RESTS = "eighth-rests"
    DOTS = "dots"
    TIES = "ties"
    SIX_EIGHT = "six-eight"

    @property
    def next(self) -> "CountStep":
        """The one after, or the last again."""
        steps = tuple(CountStep)
        return steps[min(steps.index(self) + 1, len(steps) - 1)]
