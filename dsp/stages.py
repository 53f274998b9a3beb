"""What the tracker holds of a sounding: it rises, and then is told of as one string or as a section.

Every record is replaced, never changed.
"""

from dataclasses import dataclass

from dsp.acceptance import Judgement
from dsp.acquisition import Acquired, longest_look_s
from dsp.interference import Undisturbed
from dsp.retuning import Turn
from dsp.section_pitch import Section, promising
from dsp.sounding import Onset, Past
from dsp.tracking import Followed
from dsp.units import Hz

_LONGEST_RISE_S = 1.0  # a sounding that has not been believed by then is given up
_NO_PITCH_S = 0.1  # and one without any pitch so long after the longest look
_ONE_STRING = 3.0  # chi squared a degree of freedom up to which what was taken for a section is one string


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


def overdue(rising: Rising, past: Past, lowest_hz: Hz) -> bool:
    """Whether it has risen for so long that it is to be given up."""
    glimpsed = rising.section is not None and promising(rising.section)
    hopeful = rising.known.coarse is not None or glimpsed
    limit = _LONGEST_RISE_S if hopeful else longest_look_s(lowest_hz) + _NO_PITCH_S
    return rising.onset.age_s(past) > limit


def is_section(rising: Rising, crowd: Crowd | None) -> bool:
    """Whether this very sound is told of as a section's, and does not look like one string after all."""
    settled = rising.follow.settled if rising.follow else None
    same = crowd is not None and crowd.section.onset.start == rising.onset.start
    return same and settled is not None and settled.misfit > _ONE_STRING
