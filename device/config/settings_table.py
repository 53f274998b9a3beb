"""Defines the table `[settings]` of the settings file: how each setting is written, and its limits."""

from device.config.config_tables import Key, Table
from device.config.practice_settings import FASTEST_BPM, SLOWEST_BPM, CountStep, Naming, ReadStep
from device.config.settings import (
    Cores,
    FineTuners,
    Order,
    Pegs,
    Settings,
    Size,
    StringSet,
    Tolerance,
    Tone,
)
from device.config.value_types import Choice, Flag, Notes, Number
from dsp import Instrument, Temperament

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
        Key(
            "cores",
            Choice(Cores),
            _USUAL.cores,
            "the cores of the wound strings; unknown takes more plucks, to be safe with any of them",
        ),
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
        Key("hold_s", Number(0.4, 3.0, "s"), _USUAL.hold_s, "a button that is down so long is held"),
        Key("chord_s", Number(1.0, 6.0, "s"), _USUAL.chord_s, "how long the teacher's two buttons are held"),
        Key(
            "debounce_s",
            Number(0.01, 0.2, "s"),
            _USUAL.debounce_s,
            "how long the contact of a button may bounce",
            file_only=True,
        ),
        Key("note_names", Choice(Naming), _USUAL.note_names, "what the notes are called"),
        Key("steps_move", Flag(), _USUAL.steps_move, "a practice goes on to its next step by itself"),
        Key("read_step", Choice(ReadStep), _USUAL.read_step, "the step that reading notes has reached"),
        Key("count_step", Choice(CountStep), _USUAL.count_step, "the step that counting bars has reached"),
        Key(
            "tempo_bpm",
            Number(float(SLOWEST_BPM), float(FASTEST_BPM), "beats a minute", whole=True),
            _USUAL.tempo_bpm,
            "how fast bars are counted",
        ),
        Key(
            "six_eight_by_eighths",
            Flag(),
            _USUAL.six_eight_by_eighths,
            "6/8 beats in eighths, else in dotted quarters",
        ),
        Key(
            "sound_delay_ms",
            Number(0.0, 400.0, "ms"),
            _USUAL.sound_delay_ms,
            "how much later than it was made a pluck is heard, loudspeaker and microphone together",
            file_only=True,
        ),
        Key("locked", Flag(), _USUAL.locked, "the settings open only to the teacher's two buttons"),
    ),
    Settings,
)
"""The table `[settings]` of the settings file; the flags of the commands have the same names."""
