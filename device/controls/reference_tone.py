"""Chooses what the third button sounds: the string asked for, the reference A, or a pure fifth."""

from dataclasses import dataclass

from device.config.settings import Settings, Tone
from dsp import Hz, Seconds, Temperament, string_frequencies
from dsp.clicks import Click

NOTE_S = Seconds(4.0)  # chosen: long enough to hum along
DRONE_S = Seconds(8.0)  # chosen: long enough to bring a string to it
MUTED_AFTER_S = Seconds(0.3)  # after a tone: a small room has died away; the design's figure


@dataclass(frozen=True, slots=True)
class ReferenceTone:
    """A reference tone that is being sounded."""

    name: str  # "A4", or the lower and the upper string of a pure fifth: "D4 A4"
    frequencies: tuple[Hz, ...]
    level_dbfs: float
    begins: Seconds
    duration_s: Seconds
    clicks: tuple[Click, ...] = ()  # of a practice: left out without a loudspeaker, and heard past

    @property
    def ends(self) -> Seconds:
        """The moment when it has faded."""
        return Seconds(self.begins + self.duration_s)


def reference_tone(settings: Settings, string: str, at: Seconds) -> ReferenceTone:
    """What sounds when `string` is asked for."""
    level = settings.tone_dbfs
    if settings.tone is Tone.REFERENCE_A:
        return ReferenceTone("A4", (settings.reference_hz,), level, at, NOTE_S)
    if settings.tone is Tone.OPEN_STRING:
        return ReferenceTone(string, (settings.targets[string],), level, at, NOTE_S)
    name, pair = drone(settings, string)
    return ReferenceTone(name, pair, level, at, DRONE_S)


def drone(settings: Settings, string: str) -> tuple[str, tuple[Hz, ...]]:
    """`string` with its neighbour towards the A (the A itself with the string below), in pure tune.

    So a violin's A sounds with D, D with A, G with D, and E with A; a double bass has pure fourths.
    """
    names = [open_string.name for open_string in settings.strings]
    pure = string_frequencies(settings.strings, settings.reference_hz, Temperament.PURE)
    place = names.index(string)
    a_place = next((i for i, s in enumerate(settings.strings) if s.letter == "A"), len(names) - 1)
    other = place - 1 if place > a_place or (place == a_place and place > 0) else place + 1
    low, high = sorted((place, other))
    return f"{names[low]} {names[high]}", (pure[low], pure[high])
