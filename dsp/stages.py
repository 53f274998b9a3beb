"""What the tracker holds of a sounding: it rises, and then is told of as one string or as a section.

Every record is replaced, never changed.
"""

from dataclasses import dataclass

from dsp.acceptance import Judgement
from dsp.acquisition import Acquired
from dsp.interference import Undisturbed
from dsp.retuning import Turn
from dsp.section_pitch import Section
from dsp.sounding import Onset
from dsp.tracking import Followed


@dataclass(frozen=True, slots=True)
class Rising:
    """Something that began to sound and may turn out to be a string."""

    onset: Onset
    known: Acquired = Acquired()  # noqa: RUF009 - frozen
    follow: Followed | None = None
    turn: Turn = Turn()  # noqa: RUF009 - frozen
    judgement: Judgement = Judgement()  # noqa: RUF009 - frozen
    section: Section | None = None


@dataclass(frozen=True, slots=True)
class SoundingNote:
    """A string that is told of."""

    number: int
    follow: Followed
    known: Acquired
    turn: Turn
    judgement: Judgement
    loudest_dbfs: float
    undisturbed: Undisturbed | None = None


@dataclass(frozen=True, slots=True)
class Crowd:
    """A section that is told of."""

    number: int
    section: Section
    loudest_dbfs: float
