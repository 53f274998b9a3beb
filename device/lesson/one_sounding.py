"""The readings of one sounding: which of them count, and whether another string sounds into it."""

import math

from device.events import Heard
from device.instrument.frozen import replace
from device.lesson.memory import Memory
from device.safety.string_bounds import MOST_JUMP
from dsp import Hz, cents

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
    return replace(memory, reading=event, wavered=memory.wavered or jumped)
