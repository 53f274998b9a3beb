"""Rows on the other instruments, and on recorded strings from Debian's sound fonts."""

from dsp import OPEN_STRINGS, Hz, Instrument, Samples
from tests import sound_fonts
from tests.bench.common import (
    RATE,
    WRONG_CENTS,
    Sizes,
    cases,
    names,
    off_by,
    open_frequency,
    readings,
    wall_range,
)
from tests.bench.report import Table
from tests.bench.rooms import resampled
from tests.bench.rows_pitch import _window_columns
from tests.bench.rows_time import low_instruments_time

# General MIDI programs, counted from 0, of bank 0: single strings, plucked and bowed
SOLO = {
    Instrument.VIOLIN: (("violin, bowed", 40), ("one gut string", 24), ("harp", 46)),
    Instrument.VIOLA: (("viola, bowed", 41),),
    Instrument.CELLO: (("cello, bowed", 42),),
    Instrument.DOUBLE_BASS: (("double bass, bowed", 43), ("double bass, plucked", 32)),
}
SHIFTS = (-37.3, -11.7, 4.9, 23.1, 48.6)  # cents


def low(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    times: list[tuple[object, ...]] = []
    gross: list[str] = []
    for instrument in (Instrument.VIOLA, Instrument.CELLO, Instrument.DOUBLE_BASS):
        for name in names(instrument):
            sizes.progress(f"low: {instrument.value} {name}")
            row, wrong = _window_columns(cases(instrument, name, sizes.of(100), 20.0), (0.3, 0.6, 1.0))
            rows.append((instrument.value, name, *row))
            if wrong > 0.02 * sizes.of(100):
                gross.append(f"low: {instrument.value} {name}: {wrong} of {sizes.of(100)} wrong")
        times += low_instruments_time(sizes, instrument)
    columns = ["instrument", "string", "plucks", "wrong", "no reading at 0.3 s"]
    for w in (0.3, 0.6, 1.0):
        columns += [f"median {w} s", f"95 % {w} s", f"bias {w} s"]
    time_columns = (
        "instrument",
        "string",
        "plucks",
        "any, ms",
        "5 cents, ms",
        "95 %",
        "never",
        "1 cent, ms",
        "95 %",
        "never",
    )
    return [
        Table(
            "low",
            "Viola, cello and double bass, 20 dB",
            "no octave error",
            tuple(columns),
            tuple(rows),
            tuple(gross),
        ),
        Table(
            "low_time",
            "Viola, cello and double bass: time to a reading",
            "reported",
            time_columns,
            tuple(times),
        ),
    ]


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
    return [Table("fonts", "Recorded pizzicato notes", goal, columns, tuple(rows))]


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


assert RATE == sound_fonts.RATE
