"""What the coach remembers between two events: frozen, and empty for a new pupil."""

from dataclasses import dataclass

from dsp import Seconds


@dataclass(frozen=True, slots=True)
class Memory:
    """Everything beside what is shown."""

    last_pluck: int | None = None  # the newest sounding
    void_pluck: int | None = None  # it began before the string was asked for: it says nothing of it
    steady_since: Seconds | None = None  # since when the pitch has stood still in this sounding
    sounded_at: Seconds | None = None  # when the newest sounding began


NOTHING = Memory()
"""What a new lesson remembers."""
