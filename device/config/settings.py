"""Defines what a player or a teacher may choose; `device.config.settings_table` says how it is written."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from device.config.practice_settings import CountStep, Naming, ReadStep
from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    OpenString,
    Seconds,
    Temperament,
    string_frequencies,
    tracking_range,
)

ISO_16_HZ = Hz(440.0)  # ISO 16:1975, the standard tuning frequency of A4


class Size(Enum):
    """Size of the instrument as the trade names it; it scales string length and cents per turn."""

    UNKNOWN = "unknown"
    SIXTEENTH = "1/16"
    TENTH = "1/10"
    EIGHTH = "1/8"
    QUARTER = "1/4"
    HALF = "1/2"
    THREE_QUARTER = "3/4"
    FULL = "4/4"


class FineTuners(Enum):
    """Which strings have a fine tuner at the tailpiece."""

    ALL = "all"
    HIGHEST = "highest"
    NONE = "none"


class Pegs(Enum):
    """Friction pegs of wood, or geared pegs that need no push."""

    WOODEN = "wooden"
    GEARED = "geared"


class StringSet(Enum):
    """What the highest violin string is made of; the others follow the usual set."""

    STEEL = "steel"
    PLAIN_GUT_E = "plain-gut-e"


class Cores(Enum):
    """What carries the load inside the wound strings; unknown means that all of them are possible."""

    UNKNOWN = "unknown"
    GUT = "gut"
    SYNTHETIC = "synthetic"
    STEEL = "steel"


class Tolerance(Enum):
    """How near to its pitch a string counts as right."""

    BEGINNER = "beginner"
    USUAL = "usual"
    FINE = "fine"

    @property
    def cents(self) -> Cents:
        """Half the width of what counts as right; fine is ISO 16:1975's +-0.5 Hz at 440 Hz."""
        return {Tolerance.BEGINNER: Cents(8.0), Tolerance.USUAL: Cents(5.0), Tolerance.FINE: Cents(2.0)}[self]


class Order(Enum):
    """In which order the strings are asked for."""

    HIGH_TO_LOW = "high-to-low"
    A_FIRST = "a-first"
    LOW_TO_HIGH = "low-to-high"
    WHICHEVER_IS_PLUCKED = "whichever-is-plucked"


class Tone(Enum):
    """What the third button sounds."""

    OPEN_STRING = "open-string"  # the string that is asked for
    REFERENCE_A = "reference-a"  # the A all of them are placed from
    FIFTH = "fifth"  # the string and its neighbour, a pure fifth (fourth on the double bass)


@dataclass(frozen=True, slots=True)
class PressTimes:
    """How long a press has to last; small fingers need other times than a teacher's."""

    debounce_s: Seconds = Seconds(0.03)  # common practice for small push buttons: 10 to 50 ms
    hold_s: Seconds = Seconds(0.8)  # chosen; a short press of a child lasts well under half a second
    chord_s: Seconds = Seconds(3.0)  # chosen; longer than two buttons are hit by chance
    stuck_s: Seconds = Seconds(10.0)  # chosen; nobody holds a button this long on purpose


@dataclass(frozen=True, slots=True)
class Settings:
    """Everything that changes what the box asks, hears and says; no hardware is named here."""

    instrument: Instrument = Instrument.VIOLIN
    size: Size = Size.UNKNOWN
    retuned: tuple[OpenString, ...] | None = None  # five strings or scordatura, low to high
    reference_hz: Hz = ISO_16_HZ
    temperament: Temperament = Temperament.EQUAL
    fine_tuners: FineTuners = FineTuners.ALL
    pegs: Pegs = Pegs.WOODEN
    left_handed: bool = False
    string_set: StringSet = StringSet.STEEL
    cores: Cores = Cores.UNKNOWN
    tolerance: Tolerance = Tolerance.BEGINNER
    pegs_by_grown_up: bool = True
    order: Order = Order.HIGH_TO_LOW
    move_on: bool = True  # go to the next string by itself when one is right
    by_ear: bool = False  # hide the reading until the child has decided
    tone: Tone = Tone.OPEN_STRING
    tone_dbfs: float = -18.0
    brightness_percent: int = 70
    upside_down: bool = False  # the picture, for a box that hangs the other way up
    rest_minutes: int = 5  # without a pluck or a press, then the panel goes dark
    gate_db: float = 8.0  # a pluck softer than ours by more is a neighbour's
    clock_ppm: float = 0.0  # how much faster than it says the sound card samples
    hold_s: Seconds = Seconds(0.8)
    chord_s: Seconds = Seconds(3.0)
    debounce_s: Seconds = Seconds(0.03)
    note_names: Naming = Naming.LETTERS
    steps_move: bool = True  # a practice goes on to its next step by itself
    read_step: ReadStep = ReadStep.OPEN_STRINGS
    count_step: CountStep = CountStep.STEADY
    tempo_bpm: int = 60  # beats a minute
    six_eight_by_eighths: bool = False  # 6/8 beats in eighths, not in dotted quarters
    sound_delay_ms: float = 0.0  # of loudspeaker and microphone together, taken off what Count hears
    locked: bool = False  # the settings open only after the teacher's chord

    @property
    def strings(self) -> tuple[OpenString, ...]:
        """The open strings, low to high."""
        return self.retuned or OPEN_STRINGS[self.instrument]

    @property
    def targets(self) -> dict[str, Hz]:
        """Where each open string should sound, by its name, low to high."""
        frequencies = string_frequencies(self.strings, self.reference_hz, self.temperament)
        return {string.name: hz for string, hz in zip(self.strings, frequencies, strict=True)}

    @property
    def tracking_range(self) -> tuple[Hz, Hz]:
        """Lowest and highest pitch the tracker looks for, in Hz."""
        return tracking_range(tuple(self.targets.values()))

    def corrected(self, frequency: Hz) -> Hz:
        """A frequency as it sounded, from one measured with a sound card that samples too fast."""
        return Hz(frequency * (1.0 + 1e-6 * self.clock_ppm))

    @property
    def sound_delay_s(self) -> Seconds:
        """How much later than it was made a pluck is heard."""
        return Seconds(self.sound_delay_ms / 1000.0)

    @property
    def press_times(self) -> PressTimes:
        """How long a press has to last to count as pressed, held or chord."""
        return PressTimes(self.debounce_s, self.hold_s, self.chord_s)


Refuse = Callable[[Settings], tuple[str, ...]]
"""Says in sentences what is wrong with settings as a whole; says nothing when they are safe."""
