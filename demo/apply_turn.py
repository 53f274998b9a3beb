"""Carries out what a player does, on the simulated instrument."""

import random
from dataclasses import dataclass

from demo.actions import Turned
from demo.instrument import SimInstrument
from device.instrument.tuning_parts import TuningPart

SLIPS_UNPUSHED = 0.4  # share of turns of a wooden peg, not pushed in, that slip back; invented
SLIPS_PUSHED = 0.02  # the same, pushed in; invented


@dataclass(frozen=True, slots=True)
class TurnOutcome:
    """An instrument after a turn, and whether the peg slipped."""

    instrument: SimInstrument
    slipped: bool = False


def apply_turn(instrument: SimInstrument, turn: Turned, rng: random.Random) -> TurnOutcome:
    """TuningPart what the hand is on; a wooden peg may slip back when it is let go."""
    if turn.what is TuningPart.FINE_TUNER:
        return TurnOutcome(instrument.turn_screw(turn.string, turn.spin, turn.degrees))
    after = instrument.turn_peg(turn.string, turn.spin, turn.degrees)
    string = after.string(turn.string)
    slips = rng.random() < (SLIPS_PUSHED if turn.push_in else SLIPS_UNPUSHED)
    back = rng.uniform(0.3, 1.0) * turn.degrees
    if not (string.wooden and slips) or string.broken:
        return TurnOutcome(after)
    return TurnOutcome(after.slipped(turn.string, back), slipped=True)
