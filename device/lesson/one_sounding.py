"""The readings of one sounding: which of them count, and what they say together."""

import math

from device.events import Heard
from device.instrument.frozen import replace
from device.lesson.evidence import LATE, STILL
from device.lesson.memory import Memory
from device.safety.string_bounds import MOST_DOUBT, MOST_JUMP
from dsp import Cents, Hz, Seconds, cents, shifted

MIDWAY = Seconds(0.6)  # by then a hard pluck has sunk most of its way
LOWEST, HIGHEST = Hz(5.0), Hz(20000.0)  # beyond these nothing is the pitch of a string


def counts(memory: Memory, event: Heard) -> bool:
    """Whether a reading is sane, and of a sounding that began after it was asked for."""
    numbers = (
        event.at,
        event.std_error_cents,
        event.octave_doubt,
        event.drift_cents_per_s,
        event.since_pluck_s,
    )
    begun_at = event.at - event.since_pluck_s
    return (
        all(math.isfinite(number) for number in numbers)
        and LOWEST <= event.frequency_hz <= HIGHEST
        and event.std_error_cents >= 0.0
        and (event.pluck == memory.pluck or begun_at >= memory.asked_at)
    )


def noted(memory: Memory, event: Heard) -> Memory:
    """The reading beside the one before: within one sounding a string's pitch does not jump."""
    before = memory.reading
    jumped = before is not None and abs(cents(event.frequency_hz, before.frequency_hz)) > MOST_JUMP
    mid = MIDWAY <= event.since_pluck_s < LATE and abs(event.drift_cents_per_s) < STILL
    midway = event if mid else memory.midway
    return replace(memory, reading=event, wavered=memory.wavered or jumped, midway=midway)


def pitch_of(memory: Memory, event: Heard) -> tuple[Hz, Cents]:
    """A late reading and the one midway together: either may stray, which shows in how far they differ.

    The pitch is their weighted mean, its error that of the surer one, or how far the other is from it.
    """
    midway = memory.midway
    if midway is None or event.since_pluck_s < LATE or event.octave_doubt > MOST_DOUBT:
        return event.frequency_hz, event.std_error_cents
    first, last = midway.std_error_cents, event.std_error_cents
    share = max(last, 0.05) ** 2 / (max(first, 0.05) ** 2 + max(last, 0.05) ** 2)
    apart = cents(midway.frequency_hz, event.frequency_hz)
    error = max(min(first, last), abs(apart) * max(share, 1.0 - share))
    return shifted(event.frequency_hz, Cents(share * apart)), Cents(error)
