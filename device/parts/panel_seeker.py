"""Opens the panel for the loop, and knows when no waiting will help."""

import os
from collections.abc import Callable
from pathlib import Path

from device.errors import PartError, StuckError
from device.parts.display import Display


class PanelSeeker:
    """Opens the panel, again and again if need be.

    A service is allowed the bus only if the bus was there when the service began. Where it came
    later and is refused, only a new process helps, and the service manager starts one.
    """

    def __init__(self, open_panel: Callable[[], Display], bus: int) -> None:
        self._open, self._bus = open_panel, Path(f"/dev/i2c-{bus}")
        self._late = not self._bus.exists()

    def __call__(self) -> Display:
        """The panel; PartError while it does not answer, StuckError when a new process would help."""
        try:
            return self._open()
        except PartError as why:
            if self._late and self._bus.exists() and not os.access(self._bus, os.R_OK | os.W_OK):
                raise StuckError(f"{self._bus} came after the service began and is closed to it") from why
            raise
