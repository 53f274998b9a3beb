"""The loudspeaker, through PortAudio: one tone at a time, started and stopped at once.

Opening an output may take a good part of a second, so it is done in a thread of its own; the loop
goes on. How loud a tone may be is decided where it is made.
"""

import threading
from typing import Any

import numpy as np

from device.errors import PartError
from device.parts.sound_library import loaded, output_device
from dsp import Samples


class SoundCardSpeaker:
    """Plays what it is given through the device whose name holds the text; the default one for ""."""

    def __init__(self, part_of_name: str = "") -> None:
        self._library = loaded()
        self._device = output_device(part_of_name)
        self._playing: _Playing | None = None

    def play(self, samples: Samples, sample_rate_hz: int) -> None:
        """Start sounding and return at once; what sounded before is cut short.

        Raises PartError when the device failed to sound the tone before.
        """
        failure = self._playing.failure if self._playing is not None else None
        self.stop()
        if failure is not None:
            raise PartError(f"the loudspeaker {self._device['name']} does not sound ({failure})")
        self._playing = _Playing(self._library, self._device["index"], samples, sample_rate_hz)

    @property
    def sounding(self) -> bool:
        """Whether a tone is still to be heard; opening the device may have made it late."""
        return self._playing is not None and self._playing.thread.is_alive()

    def stop(self) -> None:
        """Fall silent at once."""
        if self._playing is not None:
            self._playing.enough.set()
            self._playing = None

    def close(self) -> None:
        """Let go of the loudspeaker."""
        self.stop()


class _Playing:
    """One tone in a thread of its own, from opening the device to closing it."""

    def __init__(self, library: Any, device: int, samples: Samples, sample_rate_hz: int) -> None:
        self.enough = threading.Event()
        self.failure: Exception | None = None
        self._library, self._device, self._rate = library, device, sample_rate_hz
        self._left, self._longest_s = samples, len(samples) / sample_rate_hz + 1.0
        self.thread = threading.Thread(target=self._play, daemon=True)
        self.thread.start()

    def _play(self) -> None:
        try:
            with self._library.OutputStream(
                device=self._device,
                samplerate=self._rate,
                channels=1,
                dtype="float32",
                callback=self._fill,
                finished_callback=self.enough.set,
            ):
                self.enough.wait(self._longest_s)
        except self._library.PortAudioError as failure:
            self.failure = failure

    def _fill(self, out: Samples, frames: int, _time: object, _status: object) -> None:
        """Hand over the next samples, then silence and the end. Runs in the library's thread."""
        block, self._left = self._left[:frames], self._left[frames:]
        out[: len(block), 0] = block
        out[len(block) :] = np.float32(0.0)
        if len(block) < frames:
            raise self._library.CallbackStop
