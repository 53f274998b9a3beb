"""The sound library (PortAudio, through sounddevice): loaded on first use, listed anew on demand.

PortAudio makes its list of devices once. A microphone that was plugged in later is seen only after
the library was shut down and started again, which ends every open stream; so that is done only
while the microphone is lost.
"""

import contextlib
import ctypes
from types import ModuleType
from typing import Any

from device.errors import PartError

INSTALL_SOUND = "install it with `sudo apt install libportaudio2` and `pip install sounddevice`"


_HANDLER = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)
_LISTENER = ctypes.CFUNCTYPE(None, ctypes.c_char_p)
_take_nothing = _LISTENER(lambda _message: None)
_say_nothing = _HANDLER(lambda *_: None)  # kept for as long as the program runs: C holds on to it


def loaded() -> ModuleType:
    """The module `sounddevice`; PartError, in one sentence, where it or PortAudio is missing."""
    _hush()
    try:
        import sounddevice  # noqa: PLC0415 - importing it starts the sound system
    except (ImportError, OSError) as missing:
        raise PartError(f"the sound library is missing ({missing}); {INSTALL_SOUND}") from missing
    return sounddevice  # type: ignore[no-any-return] # the library has no types


def _hush() -> None:
    """Have ALSA and JACK print nothing: they say dozens of lines for every list of devices, for days on end.

    What matters comes back as an error all the same.
    """
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_say_nothing)
    with contextlib.suppress(OSError, AttributeError):
        jack = ctypes.CDLL("libjack.so.0")
        jack.jack_set_error_function(_take_nothing)
        jack.jack_set_info_function(_take_nothing)


def names() -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of all microphones, and of all loudspeakers."""
    library = loaded()
    try:
        devices = [dict(device) for device in library.query_devices()]
    except library.PortAudioError as failure:
        raise PartError(f"the sound devices cannot be listed ({failure})") from failure
    inputs = tuple(str(d["name"]) for d in devices if d["max_input_channels"] > 0)
    outputs = tuple(str(d["name"]) for d in devices if d["max_output_channels"] > 0)
    return inputs, outputs


def list_anew() -> None:
    """Make the library look for devices again. Ends all its streams."""
    library = loaded()
    try:
        library._terminate()
        library._initialize()
    except library.PortAudioError as failure:
        raise PartError(f"the sound library does not start ({failure})") from failure


def input_device(part_of_name: str) -> dict[str, Any]:
    """The first device with inputs whose name holds the text, whatever its case; the default one for "".

    Raises PartError, which lists what there is.
    """
    return _device("microphone", "max_input_channels", 0, part_of_name)


def output_device(part_of_name: str) -> dict[str, Any]:
    """The same for a loudspeaker."""
    return _device("loudspeaker", "max_output_channels", 1, part_of_name)


def _device(what: str, channels: str, side: int, part_of_name: str) -> dict[str, Any]:
    library = loaded()
    try:
        devices = [dict(device) for device in library.query_devices() if device[channels] > 0]
        standard = library.default.device[side]
    except library.PortAudioError as failure:
        raise PartError(f"the sound devices cannot be listed ({failure})") from failure
    wanted = [d for d in devices if part_of_name.lower() in d["name"].lower()]
    if part_of_name == "":
        wanted = [d for d in devices if d["index"] == standard] or devices
    if not wanted and not devices:
        raise PartError(f"there is no {what}")
    if not wanted:
        there = ", ".join(f'"{d["name"]}"' for d in devices)
        raise PartError(f'no {what} with "{part_of_name}" in its name; there is {there}')
    return wanted[0]
