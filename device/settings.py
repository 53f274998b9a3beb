"""What a player or a teacher may choose, as frozen values, and the keys it is written with."""

from dataclasses import dataclass
from enum import Enum

from device.keys import Key, Table
from device.kinds import Choice, Flag, Notes, Number
from device.presses import PressTimes
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


class Tolerance(Enum):
    """How near is right."""

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
    def press_times(self) -> PressTimes:
        """How long a press must last to count as what."""
        return PressTimes(self.debounce_s, self.hold_s, self.chord_s)


_USUAL = Settings()

SETTINGS = Table(
    "settings",
    (
        Key("instrument", Choice(Instrument), _USUAL.instrument, "the instrument"),
        Key("size", Choice(Size), _USUAL.size, "its size"),
        Key(
            "retuned",
            Notes(),
            _USUAL.retuned,
            "five strings or scordatura; an empty list means the usual strings",
            file_only=True,
        ),
        Key("reference_hz", Number(380.0, 480.0, "Hz"), _USUAL.reference_hz, "the reference pitch, the A"),
        Key("temperament", Choice(Temperament), _USUAL.temperament, "as a keyboard or in pure intervals"),
        Key("fine_tuners", Choice(FineTuners), _USUAL.fine_tuners, "which strings have a fine tuner"),
        Key("pegs", Choice(Pegs), _USUAL.pegs, "what the pegs are"),
        Key("left_handed", Flag(), _USUAL.left_handed, "the instrument is strung for the left hand"),
        Key("string_set", Choice(StringSet), _USUAL.string_set, "what the violin's E is made of"),
        Key("tolerance", Choice(Tolerance), _USUAL.tolerance, "how near is right: 8, 5 or 2 cents"),
        Key("pegs_by_grown_up", Flag(), _USUAL.pegs_by_grown_up, "only a grown-up turns the pegs"),
        Key("order", Choice(Order), _USUAL.order, "the order in which the strings are asked for"),
        Key("move_on", Flag(), _USUAL.move_on, "go on to the next string when one is right"),
        Key("by_ear", Flag(), _USUAL.by_ear, "hide the reading until the player has decided"),
        Key("tone", Choice(Tone), _USUAL.tone, "what the third button sounds"),
        Key("tone_dbfs", Number(-40.0, -12.0, "dBFS"), _USUAL.tone_dbfs, "how loud it sounds"),
        Key(
            "brightness_percent",
            Number(10.0, 100.0, "percent", whole=True),
            _USUAL.brightness_percent,
            "how bright the panel is",
        ),
        Key("upside_down", Flag(), _USUAL.upside_down, "turn the picture round, top to bottom"),
        Key(
            "rest_minutes",
            Number(1.0, 60.0, "minutes", whole=True),
            _USUAL.rest_minutes,
            "the panel goes dark after so long without a pluck or a press",
        ),
        Key(
            "gate_db",
            Number(3.0, 60.0, "dB"),
            _USUAL.gate_db,
            "a pluck that much softer than the player's own is not followed",
            file_only=True,
        ),
        Key(
            "clock_ppm",
            Number(-500.0, 500.0, "ppm"),
            _USUAL.clock_ppm,
            "how much faster than it says the sound card samples",
            file_only=True,
        ),
        Key("hold_s", Number(0.4, 3.0, "s"), _USUAL.hold_s, "how long a button is down to be held"),
        Key("chord_s", Number(1.0, 6.0, "s"), _USUAL.chord_s, "how long the teacher's two buttons"),
        Key("debounce_s", Number(0.01, 0.2, "s"), _USUAL.debounce_s, "a contact bounces", file_only=True),
        Key("locked", Flag(), _USUAL.locked, "the settings open only to the teacher's two buttons"),
    ),
    Settings,
)
"""The table `[settings]` of the settings file; the flags of the commands have the same names."""
