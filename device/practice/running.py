"""A practice that is going on: how it is entered, left and fed; the tuning lesson knows nothing of it.

| | next held | previous held | third held |
|---|---|---|---|
| all strings right | the first practice | as in the lesson | the settings |
| in a practice | back to tuning | the next practice | the settings |

Any other press is the practice's own. It is left by itself when nobody plays or presses for a minute.
"""

from dataclasses import dataclass
from typing import Any

from device.config.settings import Settings
from device.events import Button, Held, Press
from device.practice.events import PracticeEvent, PracticeTone
from device.practice.table import PRACTICES, Practice, following
from dsp import Seconds

PRACTICE_LEFT_AFTER_S = Seconds(60.0)  # as long as a lesson waits for its pupil


@dataclass(frozen=True, slots=True)
class Running:
    """A row of the table and its state."""

    practice: Practice[Any]
    state: Any

    def after(self, event: PracticeEvent, settings: Settings) -> "Running":
        """The practice after one event."""
        return Running(self.practice, self.practice.after(self.state, event, settings))

    def settings(self, settings: Settings) -> Settings:
        """The settings with what was reached."""
        return self.practice.settings(self.state, settings)

    def sound(self, settings: Settings) -> PracticeTone | None:
        """What the loudspeaker should sound now."""
        return self.practice.sound(self.state, settings)


def begin_practice(practice: Practice[Any], settings: Settings, at: Seconds) -> Running:
    """A practice as it is entered."""
    return Running(practice, practice.begin(settings, at))


def takes(running: Running | None, press: Press, *, may_begin: bool) -> bool:
    """Whether a press at home belongs to the practices; `may_begin` says that every string is right.

    The third button held opens the settings as ever.
    """
    if running is None:
        return isinstance(press, Held) and press.button is Button.NEXT and may_begin
    return not (isinstance(press, Held) and press.button is Button.TONE)


def after_press(running: Running | None, press: Press, settings: Settings) -> Running | None:
    """What is going on after a press that the practices take; None is tuning."""
    if running is None:
        return begin_practice(PRACTICES[0], settings, press.at)
    if isinstance(press, Held):
        if press.button is Button.NEXT:
            return None
        return begin_practice(following(running.practice), settings, press.at)
    return running.after(press, settings)
