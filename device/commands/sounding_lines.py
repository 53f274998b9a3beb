"""Writes a sounding as one line: of a table for people, or of JSON for programs."""

import json
from enum import Enum

from device.config.settings import Settings
from device.parts.recording import Recording
from device.sounding_reports import SoundingReport
from dsp import Temperament

TABLE_HEAD = "pluck       at  string  heard          Hz    cents  +-     spread  what to do"


def heading(recording: Recording, settings: Settings) -> str:
    """What was read, how, and what it is measured against."""
    parts = [f"{recording.duration_s:.1f} s at {recording.sample_rate_hz} Hz"]
    if recording.mixing is not None:
        parts.append(recording.mixing)
    equal = settings.temperament is Temperament.EQUAL
    parts += [
        settings.instrument.value,
        f"A = {settings.reference_hz:g} Hz",
        "equal" if equal else "pure intervals",
    ]
    return f"{recording.path}: {', '.join(parts)}"


def table_line(sounding: SoundingReport) -> str:
    """One row of the table."""
    cents = "-" if sounding.cents is None else f"{sounding.cents:+.1f}"
    return (
        f"{sounding.pluck:5d}  {sounding.time_s:6.2f}s  {sounding.string or '-':6s}  {sounding.heard:5s}  "
        f"{sounding.frequency_hz:10.2f}  {cents:>7s}  {sounding.std_error_cents:5.2f}  "
        f"{sounding.spread_cents:6.2f}  {sounding.sentence}"
    )


def json_line(sounding: SoundingReport) -> str:
    """One JSON object; what is not known is null, never zero."""
    advice = sounding.advice
    return json.dumps(
        {
            "pluck": sounding.pluck,
            "time_s": round(sounding.time_s, 3),
            "string": sounding.string,
            "heard": sounding.heard,
            "frequency_hz": round(sounding.frequency_hz, 3),
            "cents": None if sounding.cents is None else round(sounding.cents, 2),
            "std_error_cents": round(sounding.std_error_cents, 3),
            "turn": _word(advice.turn),
            "direction": _word(advice.direction),
            "rotation": _word(advice.rotation),
            "amount": _word(advice.amount),
            "in_tune": sounding.in_tune,
            "warning": _word(advice.warning),
            "advice": sounding.sentence,
            "spread_cents": round(sounding.spread_cents, 3),
        }
    )


def _word(choice: Enum | None) -> str | None:
    return None if choice is None else str(choice.value)
