"""What the loop tells whoever watches it, once a tick."""

from dataclasses import dataclass

from device.coach.state import Coach
from device.events import LessonEvent
from device.scene import Scene
from dsp import Seconds


@dataclass(frozen=True, slots=True)
class Health:
    """Counts since the start, for `wallpeg check` and the service's status line."""

    ticks: int = 0
    readings: int = 0
    pictures: int = 0  # sent to the panel
    dropped_s: Seconds = Seconds(0.0)  # sound thrown away because it came too late
    overflows: int = 0  # times the open microphone had to drop sound
    microphone_losses: int = 0
    panel_losses: int = 0


@dataclass(frozen=True, slots=True)
class Moment:
    """One tick: what the coach was told, and what is shown."""

    at: Seconds
    events: tuple[LessonEvent, ...]
    scene: Scene
    health: Health

    @property
    def coach(self) -> Coach:
        """The lesson after the tick, as it is shown."""
        return self.scene.coach
