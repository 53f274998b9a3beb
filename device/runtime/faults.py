"""Decides which fault is shown, and for how long.

A missing microphone is shown for as long as it is missing. Everything else the box can live with
is told for a few seconds and then makes room for the lesson.
"""

from dataclasses import dataclass, replace

from device.panel.scene import Fault
from dsp import Seconds

SHOWN_S = {
    Fault.WRONG_SETTINGS: Seconds(8.0),  # chosen: time to read it, once after the start
    Fault.NOT_KEPT: Seconds(4.0),  # chosen: as long as a notice of the settings
    Fault.TOO_LOUD: Seconds(1.5),  # chosen: the next pluck comes soon
    Fault.NO_SPEAKER: Seconds(3.0),
    Fault.TOO_BUSY: Seconds(1.5),  # as when it was too loud
    Fault.OLDER_VERSION: Seconds(8.0),  # chosen: as the settings' mistake, once after the start
}
ABSENT_AFTER_S = Seconds(2.0)
"""At the start a microphone gets so long before it is called missing: opening one takes 0.7 s, and a
sound server may take another 1.1 s to its first block (measured)."""


@dataclass(frozen=True, slots=True)
class Faults:
    """What is to be shown until when, the newest of each kind."""

    until: tuple[tuple[Fault, Seconds], ...] = ()
    absent_since: Seconds | None = None  # no sound since then

    def with_fault(self, fault: Fault, at: Seconds) -> "Faults":
        """Show a fault for its time from now on."""
        others = tuple(entry for entry in self.until if entry[0] is not fault)
        return replace(self, until=(*others, (fault, Seconds(at + SHOWN_S[fault]))))

    def absent(self, missing: bool, was_there: bool, at: Seconds) -> "Faults":
        """Whether the microphone is missing now; one that was there before is missed at once."""
        if not missing:
            return self if self.absent_since is None else replace(self, absent_since=None)
        if self.absent_since is not None:
            return self
        return replace(self, absent_since=Seconds(at - ABSENT_AFTER_S) if was_there else at)

    def shown(self, at: Seconds) -> Fault | None:
        """The one fault that is shown now."""
        if self.absent_since is not None and at - self.absent_since >= ABSENT_AFTER_S:
            return Fault.NO_MICROPHONE
        return next((fault for fault in SHOWN_S if any(f is fault and at < t for f, t in self.until)), None)
