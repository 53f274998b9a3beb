"""Refuses settings whose own targets would bring a string near its breaking load."""

import math

from device.config.settings import Settings
from device.instrument.strung import MARGIN, StrungString, strung
from dsp import OpenString

LOWEST_REFERENCE_HZ = 380.0  # the lowest reference pitch the settings allow


def refusals(settings: Settings) -> tuple[str, ...]:
    """One whole sentence for each string whose own target passes its limit; empty when all is well."""
    return tuple(
        _refusal(string, settings)
        for string in strung(settings).strings
        if string.target_hz > string.limit_hz
    )


def _refusal(string: StrungString, settings: Settings) -> str:
    reference = math.floor(settings.reference_hz * string.limit_hz / string.target_hz)
    works = f"a reference pitch of {reference} Hz or lower, " if reference >= LOWEST_REFERENCE_HZ else ""
    return (
        f"{OpenString.named(string.name).letter} at {string.target_hz:.0f} Hz would put "
        f"{string.load_at(string.target_hz):.0%} of the breaking load on a string that may carry "
        f"{MARGIN:.0%} ({string.limit_hz:.0f} Hz): choose {works}a lower note or another string."
    )
