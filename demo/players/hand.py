"""Carries out a turn on the simulated instrument: pegs stick, jump and slip."""

import random
from collections.abc import Mapping
from dataclasses import dataclass, replace

from demo.mechanics.build import cents_per_degree
from demo.mechanics.geometry import Spin
from demo.mechanics.instrument import SimInstrument
from demo.mechanics.strings import Peg
from demo.players.actions import HandTurn
from demo.players.picture import PicturedPart
from dsp import Hz, Seconds, cents

JUMPS = (0.6, 1.4)  # a peg that sticks jumps by so many times its usual jump; invented
SLIPS_BACK = (0.3, 1.0)  # share of the turn that a peg slips back, let go; invented
BY_EAR_DEGREES = {
    PicturedPart.PEG: 90.0,
    PicturedPart.SCREW: 1080.0,
}  # farther nobody turns without another look


@dataclass(frozen=True, slots=True)
class TurnOutcome:
    """An instrument after a turn, and whether the peg slipped."""

    instrument: SimInstrument
    slipped: bool = False


def apply_turn(
    instrument: SimInstrument, turn: HandTurn, goals: Mapping[str, Hz], rng: random.Random
) -> TurnOutcome:
    """Turn what the hand is on; a wooden peg may stick, jump, or slip back when it is let go."""
    string = instrument.string(turn.string)
    if string.broken:
        return TurnOutcome(instrument)
    degrees = _degrees(instrument, turn, goals)
    if turn.part is PicturedPart.SCREW:
        return TurnOutcome(instrument.turn_screw(turn.string, turn.spin, degrees))
    moved = degrees if turn.by_ear else _jumped(string.peg, degrees, rng)
    after = instrument.turn_peg(turn.string, turn.spin, moved)
    slips = string.peg.slips_pushed if turn.push_in else string.peg.slips_unpushed
    if rng.random() >= slips or after.string(turn.string).broken:
        return TurnOutcome(after)
    lets_go = next(spin for spin in Spin if string.peg.shaft.winding(spin) < 0)
    return TurnOutcome(after.turn_peg(turn.string, lets_go, rng.uniform(*SLIPS_BACK) * degrees), slipped=True)


def in_pieces(turn: HandTurn, count: int) -> tuple[HandTurn, ...]:
    """The same turn in `count` equal pieces, for a hand that turns while the string sounds."""
    piece = replace(turn, degrees=turn.degrees / count, duration=Seconds(turn.duration / count))
    return (replace(piece, beyond=type(turn.beyond)(turn.beyond / count)),) * count


def _degrees(instrument: SimInstrument, turn: HandTurn, goals: Mapping[str, Hz]) -> float:
    """How far the hand goes, in the end."""
    if turn.by_ear:
        return _until_right(instrument, turn, goals[turn.string])
    if turn.beyond == 0.0:
        return turn.degrees
    worth = cents_per_degree(instrument, turn.string, by_screw=turn.part is PicturedPart.SCREW)
    return turn.degrees + (turn.beyond / worth if worth > 0.0 else 0.0)


def _jumped(peg: Peg, degrees: float, rng: random.Random) -> float:
    """What becomes of a turn: a peg that sticks moves by whole jumps, on average as far as it should."""
    if peg.sticks_degrees <= 0.0:
        return degrees
    jumps = int(degrees / peg.sticks_degrees + rng.random())
    return sum(peg.sticks_degrees * rng.uniform(*JUMPS) for _ in range(min(jumps, 200)))


def _until_right(instrument: SimInstrument, turn: HandTurn, goal: Hz) -> float:
    """How far this way leads to the goal, by halving; the picture's length where it leads away from it."""
    move = SimInstrument.turn_peg if turn.part is PicturedPart.PEG else SimInstrument.turn_screw
    low, high = 0.0, BY_EAR_DEGREES[turn.part]
    before = instrument.pitch(turn.string)
    bit = move(instrument, turn.string, turn.spin, 1.0).pitch(turn.string)
    if before is None or bit is None or (bit > before) is not (goal > before):
        return turn.degrees
    for _ in range(24):
        middle = 0.5 * (low + high)
        pitch = move(instrument, turn.string, turn.spin, middle).pitch(turn.string)
        passed = pitch is None or cents(pitch, goal) * (1.0 if goal > before else -1.0) > 0.0
        low, high = (low, middle) if passed else (middle, high)
    return low
