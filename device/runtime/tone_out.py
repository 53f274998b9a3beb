"""Starts and ends the reference tone, and says how long the box must not listen to itself.

While the box sounds, and a moment after, what the microphone hears is the box itself. `follow` says
until when that is. Clicks lie above all that is listened to, so that the box hears past them.
"""

from device.controls.reference_tone import MUTED_AFTER_S, ReferenceTone
from device.errors import PartError
from device.ports import Speaker, TellsSounding
from device.runtime.reconnect import ReconnectingPart
from dsp import Samples, Seconds
from dsp.clicks import clicks
from dsp.tones import tone

TONE_RATE_HZ = 48_000  # samples a second; what every sound card can do


class ToneOut:
    """Keeps the loudspeaker doing what was asked for."""

    def __init__(self, speaker: ReconnectingPart[Speaker]) -> None:
        self._speaker = speaker
        self._sound: ReferenceTone | None = None
        self._clicked = False  # what sounded last was clicks
        self._asked: Speaker | None = None  # whether it tells that it sounds: asking costs time
        self._telling: TellsSounding | None = None  # that one, if it does

    def follow(self, sound: ReferenceTone | None, at: Seconds) -> Seconds | None:
        """Bring about `sound`, or silence; until when the microphone hears us, or None.

        Raises PartError when there is no loudspeaker to sound it; a click is then left out.
        """
        if sound is not None and sound.clicks and self._speaker.seek(at) is None:
            return None
        if sound != self._sound:
            self._clicked = self._clicked if sound is None else bool(sound.clicks)
            self._sound = sound
            if sound is None:
                self._fall_silent(at)
            else:
                self._start(sound, at)
            ends = Seconds((at if sound is None else sound.ends) + MUTED_AFTER_S)
            return None if self._clicked else ends
        late = sound is None and not self._clicked and self._still_sounds()
        return Seconds(at + MUTED_AFTER_S) if late else None

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
            speaker.play(_samples(sound, at), TONE_RATE_HZ)
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


def _samples(sound: ReferenceTone, at: Seconds) -> Samples:
    """What is to be played from this moment on: of clicks, what is not yet past."""
    if not sound.clicks:
        return tone(sound.frequencies, sound.duration_s, TONE_RATE_HZ, sound.level_dbfs)
    past = max(0, round((at - sound.begins) * TONE_RATE_HZ))
    return clicks(sound.clicks, TONE_RATE_HZ, sound.level_dbfs)[past:]
