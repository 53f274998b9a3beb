"""The microphone, through PortAudio.

The library's own thread calls back with each block; the callback copies it into a ring and leaves.
A stream that ends on its own says so through its finished callback; a source that merely falls
silent says nothing at all, and the loop finds that by the blocks that do not come.

The callback needs memory that is both written and run (libffi's closures), so the service must not
forbid that: with `MemoryDenyWriteExecute=yes` a stream cannot be opened at all (seen with cffi
1.15.1 and 2.1.1).
"""

import threading
from typing import Any

from device.errors import PartError, StuckError
from device.parts.patience import Patiently
from device.parts.ring import Ring
from device.parts.sound_library import input_device, list_anew, loaded
from dsp import Samples

RING_S = 2.0  # outlasts a whole picture on a slow bus (93 ms) and a busy moment of the processor
I2S_CHANNELS = 2  # an I2S microphone fills one of two channels and is not opened with fewer
MOST_LISTS = 1000  # each costs some 13 KiB that never come back (measured, with the plug-ins of a PC)
BLOCK = 256  # samples, 5 ms at 48 kHz: short beside a tick of the loop


class SoundCardMicrophone:
    """One open stream of mono sound.

    Parameters
    ----------
    part_of_name : part of the device's name, whatever its case; "" takes the default one
    sample_rate_hz : what is asked for; where the device refuses it, its own rate is used
    channel : which of the device's channels, from 1
    """

    def __init__(self, part_of_name: str = "", sample_rate_hz: int = 48000, channel: int = 1) -> None:
        self._library = loaded()
        device = input_device(part_of_name)
        self.name = str(device["name"])
        channels = device["max_input_channels"]
        if channel > channels:
            raise PartError(
                f"channels of {self.name}: it has {channels} of them, so channel = {channel} is not there"
            )
        self._channel = channel - 1
        self._ended = False
        self._holes = 0  # in the sound, of the library's making; its thread's
        self._closing: threading.Thread | None = None
        self._stream: Any = None
        self.sample_rate_hz = self._open(device, sample_rate_hz)

    @property
    def overflows(self) -> int:
        """Times sound was dropped: nobody fetched it in time, or the library itself lost some."""
        return self._ring.overflows + self._holes

    def read(self) -> Samples:
        """Everything heard since the last call, perhaps nothing; PartError once the stream ended."""
        samples = self._ring.read()
        if self._ended and len(samples) == 0:
            raise PartError(f"the microphone {self.name} is gone")
        return samples

    def close(self) -> None:
        """Let go of the stream, in a thread of its own: a frozen source can hold this up for long."""
        if self._stream is not None:
            stream, self._stream = self._stream, None
            self._closing = threading.Thread(target=_closed, args=(stream,), daemon=True)
            self._closing.start()

    def wait_closed(self) -> None:
        """Wait until it is really closed, however long that takes."""
        if self._closing is not None:
            self._closing.join()

    def _open(self, device: dict[str, Any], asked_hz: int) -> int:
        """Open the stream at the rate asked for or at the device's own; returns the rate."""
        own_hz = int(device["default_samplerate"])
        refusal: Exception | None = None
        for rate in dict.fromkeys((asked_hz, own_hz)):
            self._ring = Ring(int(RING_S * rate))
            try:
                self._stream = self._started(device, rate)
            except (self._library.PortAudioError, MemoryError) as failure:
                refusal = refusal or failure
            else:
                return rate
        raise PartError(f"the microphone {self.name} does not open ({refusal})") from refusal

    def _started(self, device: dict[str, Any], rate: int) -> Any:
        stream = self._library.InputStream(
            device=device["index"],
            samplerate=rate,
            channels=min(device["max_input_channels"], max(I2S_CHANNELS, self._channel + 1)),
            dtype="float32",
            blocksize=BLOCK,
            callback=self._take,
            finished_callback=self._end,
        )
        try:
            stream.start()
        except self._library.PortAudioError:
            stream.close()
            raise
        return stream

    def _take(self, block: Samples, _frames: int, _time: object, status: Any) -> None:
        """Copy and leave. Runs in the library's thread.

        `status.input_overflow`: sound before this block was thrown away (PortAudio, paInputOverflow).
        """
        self._holes += bool(status.input_overflow)
        self._ring.write(block[:, self._channel])

    def _end(self) -> None:
        self._ended = True


def _closed(stream: Any) -> None:
    """Close a stream, whatever state it is in."""
    try:
        stream.close(ignore_errors=True)
    except Exception:
        return  # a stream that is gone has nothing left to close


class MicrophoneSeeker:
    """Opens the microphone, again and again if need be, without ever holding up the loop.

    Listing the devices and opening one may take long or hang, so it is done in the background:
    a call gives the microphone once it is open, and raises NotYetError before that. After very many
    lists the process has to make room for a new one, since each leaves some memory behind.
    """

    def __init__(self, part_of_name: str, sample_rate_hz: int, channel: int) -> None:
        self._wanted = (part_of_name, sample_rate_hz, channel)
        self._last: SoundCardMicrophone | None = None
        self._lists = 0
        self._patiently = Patiently("opening the microphone", self._open)

    def __call__(self) -> SoundCardMicrophone:
        """The open microphone; NotYetError or PartError before, StuckError when the library hangs."""
        self._last = self._patiently()
        return self._last

    def _open(self) -> SoundCardMicrophone:
        if self._lists > MOST_LISTS:
            raise StuckError(
                f"no microphone after {MOST_LISTS} lists of all devices; a new process has its memory back"
            )
        if self._last is not None:
            self._last.wait_closed()
        if self._lists > 0:
            list_anew()
        self._lists += 1
        return SoundCardMicrophone(*self._wanted)
