"""Asks the service manager about the box's service, and stops and starts it."""

import shutil
import subprocess
from collections.abc import Callable, Mapping, Sequence

from device.commands.trials import Finding

UNIT = "wallpeg.service"
ASKED = ("LoadState", "ActiveState", "UnitFileState", "NRestarts", "StatusText")

Call = Callable[[Sequence[str]], str]
"""Runs `systemctl` with these words and gives what it printed; "" when it cannot."""


def systemctl(words: Sequence[str]) -> str:
    """Ask the service manager; "" where there is none, or where it refuses."""
    program = shutil.which("systemctl")
    if program is None:
        return ""
    done = subprocess.run([program, *words], capture_output=True, text=True, timeout=30, check=False)
    return done.stdout if done.returncode == 0 else ""


class Service:
    """The service as it is while the parts are tried."""

    def __init__(self, call: Call = systemctl) -> None:
        self._call = call
        self._state = self._asked()

    @property
    def runs(self) -> bool:
        """Whether it holds the parts."""
        return self._state.get("ActiveState") in {"active", "activating", "reloading"}

    def stop(self) -> bool:
        """Stop it; whether it has stopped."""
        self._call(("stop", UNIT))
        return self._asked().get("ActiveState") not in {"active", "activating"}

    def start(self) -> bool:
        """Start it; whether it runs."""
        self._call(("start", UNIT))
        return self._asked().get("ActiveState") == "active"

    def finding(self) -> Finding:
        """How it stood before anything was stopped."""
        state = self._state
        if state.get("LoadState") != "loaded":
            return Finding("service", False, "is not installed; systemd/install.sh does it")
        said = (
            f"{state['ActiveState']}, {state['UnitFileState']} at boot, started again "
            f"{state['NRestarts']} times; {state['StatusText'] or 'nothing to report'}"
        )
        return Finding("service", self.runs and state["UnitFileState"] == "enabled", said)

    def _asked(self) -> Mapping[str, str]:
        lines = self._call(("show", UNIT, f"--property={','.join(ASKED)}")).splitlines()
        found = dict(line.split("=", 1) for line in lines if "=" in line)
        return {name: found.get(name, "") for name in ASKED}
