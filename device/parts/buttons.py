"""The push buttons: levels of GPIO pins, nothing more.

Debouncing and meaning are a pure function of levels and time (`device/controls/debounce.py`); the library's
own handlers and debouncing are not used. The pin driver is built by name: gpiozero's choice of a
default falls back to other drivers with a mere warning, and on a wall the wrong driver is a failure.
"""

import os
import tempfile
from collections.abc import Mapping, Sequence
from typing import Any

from device.errors import PartError
from device.events import Button

INSTALL_PINS = "install it with `pip install 'wallpeg[board]'`"
DRIVER = "install the package python3-lgpio and run systemd/install.sh again"


class GpioButtons:
    """Buttons between a pin and ground; the pins' own pull-up resistors hold them up.

    Parameters
    ----------
    pins : GPIO number of each button (BCM numbering)
    factory : a gpiozero pin factory
    """

    def __init__(self, pins: Mapping[Button, int], factory: Any) -> None:
        self._factory = factory
        self._inputs: dict[Button, Any] = {}
        try:
            from gpiozero import InputDevice  # noqa: PLC0415 - only a board has it

            for button, pin in pins.items():
                self._inputs[button] = InputDevice(pin, pull_up=True, pin_factory=factory)
        except ImportError as missing:
            raise PartError(f"the buttons' library is missing ({missing}); {INSTALL_PINS}") from missing
        except Exception as failure:
            self.close()
            raise PartError(f"the buttons cannot be read ({failure})") from failure

    def down(self) -> Sequence[Button]:
        """Which buttons are down at this moment, undebounced."""
        try:
            return [button for button, line in self._inputs.items() if line.value]
        except Exception as failure:
            raise PartError(f"the buttons cannot be read ({failure})") from failure

    def close(self) -> None:
        """Let go of the pins and of their driver."""
        self._let_go()
        self._factory.close()

    def _let_go(self) -> None:
        for line in self._inputs.values():
            line.close()
        self._inputs = {}


def lgpio_factory() -> Any:
    """The lgpio driver, or PartError; never another one in its place.

    lgpio makes a pipe in its working folder when it is imported and fails where that cannot be
    written, as under a service manager; LG_WD tells it where.
    """
    if "LG_WD" not in os.environ:
        os.environ["LG_WD"] = os.environ.get("RUNTIME_DIRECTORY") or tempfile.mkdtemp(prefix="wallpeg-")
    try:
        from gpiozero.pins.lgpio import LGPIOFactory  # noqa: PLC0415 - only a board has it

        return LGPIOFactory()
    except ImportError as missing:
        raise PartError(f"the pin driver is missing ({missing}); {DRIVER}") from missing
    except Exception as failure:
        raise PartError(f"the GPIO pins do not answer ({failure})") from failure
