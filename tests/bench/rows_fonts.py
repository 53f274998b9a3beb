"""Rows on recorded strings, from Debian's sound fonts."""

from functools import partial
from pathlib import Path

from dsp import OPEN_STRINGS, Hz, Instrument, Samples
from tests import sound_fonts
from tests.bench.common import (
    RATE,
    SKIP_S,
    WRONG_CENTS,
    Sizes,
    at,
    off_by,
    open_frequency,
    readings,
    wall_range,
)
from tests.bench.peers import Estimate, available
from tests.bench.report import Table, median
from tests.bench.rooms import resampled

# General MIDI programs, counted from 0, of bank 0: single strings, plucked and bowed
SOLO = {
    Instrument.VIOLIN: (("violin, bowed", 40), ("one gut string", 24), ("harp", 46)),
    Instrument.VIOLA: (("viola, bowed", 41),),
    Instrument.CELLO: (("cello, bowed", 42),),
    Instrument.DOUBLE_BASS: (("double bass, bowed", 43), ("double bass, plucked", 32)),
}
SHIFTS = (-37.3, 23.1)  # cents


def fonts(sizes: Sizes) -> list[Table]:
    reason = sound_fonts.missing()
    if reason:
        sizes.progress(f"fonts: left out, {reason}")
        return []
    rows: list[tuple[object, ...]] = []
    for package, font in sound_fonts.FONTS.items():
        for instrument in Instrument:
            keys = [string.note_number for string in OPEN_STRINGS[instrument]]
            for label, program in (("pizzicato section", sound_fonts.PIZZICATO), *SOLO[instrument]):
                sizes.progress(f"fonts: {package}, {instrument.value}, {label}")
                sounds = sound_fonts.notes(font, program, keys)
                for string in OPEN_STRINGS[instrument]:
                    row = _font_note(sounds[string.note_number], instrument, string.name)
                    rows.append((package, f"{label} ({program})", string.name, *row))
    columns = (
        "package",
        "sound (program)",
        "string",
        "readings",
        "wrong",
        "cents at the end",
        "greatest error of a shift",
    )
    goal = "right string and octave always (bank 0); a shift recovered within 1 cent"
    return [Table("fonts", "Recorded strings", goal, columns, tuple(rows)), _methods_on_fonts(sizes)]


def _methods_on_fonts(sizes: Sizes) -> Table:
    """The pizzicato notes of both fonts to every method, in one window of 0.3 s from 30 ms on."""
    sounds = [
        (sound, instrument, string.name)
        for font in sound_fonts.FONTS.values()
        for instrument in Instrument
        for string, sound in zip(OPEN_STRINGS[instrument], _open_notes(font, instrument), strict=True)
    ]
    rows: list[tuple[object, ...]] = []
    asked = {"Wallpeg": _ours, **{name: partial(_windowed, f) for name, f in available().items()}}
    for method, ask in asked.items():
        sizes.progress(f"fonts: {method}")
        answers = [(ask(sound, i), open_frequency(i, name)) for sound, i, name in sounds]
        off = [abs(off_by(a, target)) for a, target in answers if a is not None]
        good = [o for o in off if o <= WRONG_CENTS]
        rows.append((method, len(sounds), len(sounds) - len(off), len(off) - len(good), median(good)))
    columns = ("method", "notes", "no answer", "wrong", "median cents from the nominal pitch")
    goal = "the wall's range for all; sections, so the cents say little"
    return Table("fonts_methods", "Methods side by side on recorded pizzicato", goal, columns, tuple(rows))


def _open_notes(font: Path, instrument: Instrument) -> list[Samples]:
    keys = [string.note_number for string in OPEN_STRINGS[instrument]]
    return list(sound_fonts.notes(font, sound_fonts.PIZZICATO, keys).values())


def _ours(sound: Samples, instrument: Instrument) -> float | None:
    reading = at(readings(sound, wall_range(instrument)), 0.5 + SKIP_S + 0.3)
    return reading.frequency_hz if reading else None


def _windowed(estimate: Estimate, sound: Samples, instrument: Instrument) -> float | None:
    first = round((0.5 + SKIP_S) * RATE)
    return estimate(sound[first : first + round(0.3 * RATE)], RATE, *wall_range(instrument))


def _font_note(sound: Samples, instrument: Instrument, name: str) -> tuple[object, ...]:
    limits, target = wall_range(instrument), open_frequency(instrument, name)
    said = readings(sound, limits)
    wrong = sum(abs(off_by(r.frequency_hz, target)) > WRONG_CENTS for r in said)
    if not said:
        return 0, 0, None, None
    errors: list[float] = []
    for shift in SHIFTS:
        moved = readings(resampled(sound, 2.0 ** (shift / 1200.0)), limits)
        pairs = [(a, b) for a in said for b in moved if abs(a.since_pluck_s - b.since_pluck_s) < 0.03]
        if pairs:
            first, second = pairs[-1]
            errors.append(abs(off_by(second.frequency_hz, Hz(first.frequency_hz)) - shift))
    worst = max(errors) if len(errors) == len(SHIFTS) else None
    return len(said), wrong, off_by(said[-1].frequency_hz, target), worst
