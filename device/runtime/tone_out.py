"""Starts and ends the reference tone, and says how long the box must not listen to itself.

While the box sounds, and a moment after, what the microphone hears is the box itself. `follow` says
until when that is.
"""

from device.controls.reference_tone import MUTED_AFTER_S, ReferenceTone
from device.errors import PartError
from device.ports import Speaker, TellsSounding
from device.runtime.reconnect import ReconnectingPart
from dsp import Seconds
from dsp.tones import tone

MUTED_AFTER_CLICK_S = Seconds(0.12)  # chosen: a click of 40 ms is soft and has died away by then
TONE_RATE_HZ = 48_000  # samples a second; what every sound card can do


class ToneOut:
    """Keeps the loudspeaker doing what was asked for."""

    def __init__(self, speaker: ReconnectingPart[Speaker]) -> None:
        self._speaker = speaker
        self._sound: ReferenceTone | None = None
        self._muted_after = MUTED_AFTER_S
        self._asked: Speaker | None = None  # whether it tells that it sounds: asking costs time
        self._telling: TellsSounding | None = None  # that one, if it does

    def follow(self, sound: ReferenceTone | None, at: Seconds) -> Seconds | None:
        """Bring about `sound`, or silence; until when the microphone hears us, or None.

        Raises PartError when there is no loudspeaker to sound it; a click is then left out.
        """
        if sound is not None and sound.brief and self._speaker.seek(at) is None:
            return None
        if sound != self._sound:
            if sound is not None:
                self._muted_after = MUTED_AFTER_CLICK_S if sound.brief else MUTED_AFTER_S
            self._sound = sound
            if sound is None:
                self._fall_silent(at)
            else:
                self._start(sound, at)
            return Seconds((at if sound is None else sound.ends) + self._muted_after)
        late = sound is None and self._still_sounds()
        return Seconds(at + self._muted_after) if late else None

    def close(self) -> None:
        """Let go of the loudspeaker for good."""
        self._speaker.close()

    def _still_sounds(self) -> bool:
        part = self._speaker.part
        if part is not self._asked:
            self._asked, self._telling = part, part if isinstance(part, TellsSounding) else None
        return self._telling is not None and self._telling.sounding

    def _start(self, sound: ReferenceTone, at: Seconds) -> None:
        speaker = self._speaker.seek(at)
        if speaker is None:
            self._sound = None
            raise PartError("there is no loudspeaker")
        try:
            speaker.play(
                tone(sound.frequencies, sound.duration_s, TONE_RATE_HZ, sound.level_dbfs), TONE_RATE_HZ
            )
        except PartError as why:
            self._sound = None
            self._speaker.lose(at, why)
            raise

    def _fall_silent(self, at: Seconds) -> None:
        if self._speaker.part is None:
            return
        try:
            self._speaker.part.stop()
        except PartError as why:
            self._speaker.lose(at, why)
