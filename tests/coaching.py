"""Plucks for the coach's tests: a pitch that sounds for a second, read ten times."""

from dataclasses import replace

from hypothesis import strategies as st

from device.config.settings import Cores, FineTuners, Order, Pegs, Settings, Size, StringSet, Tolerance
from device.events import Heard, Plucked, Tick
from device.instrument.strung import strung
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson import evidence
from device.lesson.advice import Advice
from device.lesson.monitored import advance
from device.lesson.state import Coach
from dsp import Cents, Hz, Instrument, OpenString, Seconds, Temperament, shifted


def turn_advice(
    string: str, part: TuningPart, direction: Direction, amount: Amount | None, settings: Settings
) -> Advice:
    """A turn of a string as the lesson would ask for it, without its degrees."""
    turn = evidence.turn_advice(strung(settings), string, part, direction, amount or Amount.MORE, 1.0)
    return replace(turn, amount=amount, degrees=None)


SOUNDS_S = 1.0
BETWEEN_S = 3.0


def read_as(hz: Hz, at: float, pluck: int, since: float, **changes: object) -> Heard:
    reading = Heard(Seconds(at + since), pluck, hz, Cents(0.3), 0.01, 0.0, -20.0, Seconds(since))
    return replace(reading, **changes)  # type: ignore[arg-type]


def sounded(coach: Coach, settings: Settings, hz: Hz, at: float, pluck: int, **changes: object) -> Coach:
    """The coach after a pluck of that pitch, begun at `at`; `changes` go into every reading."""
    coach = advance(coach, Plucked(Seconds(at), pluck, -20.0), settings)
    for i in range(2, 11):
        coach = advance(coach, read_as(hz, at, pluck, i * SOUNDS_S / 10, **changes), settings)
    return coach


def off(settings: Settings, string: str, cents: float) -> Hz:
    return shifted(settings.targets[string], Cents(cents))


def plucked_in_turn(coach: Coach, settings: Settings, *plucks: tuple[str, float]) -> Coach:
    """The coach after these strings were plucked, each so many cents off, three seconds apart."""
    for number, (string, cents) in enumerate(plucks, start=1):
        at = coach.memory.sounded_at or 0.0
        coach = sounded(coach, settings, off(settings, string, cents), at + BETWEEN_S, 1000 * number)
        coach = advance(coach, Tick(Seconds(at + BETWEEN_S + 1.1)), settings)
    return coach


RETUNED = tuple(
    None if names is None else tuple(OpenString.named(name) for name in names.split())
    for names in (None, None, None, "C3 G3 D4 A4 E5", "A3 E4 A4 E5", "G3 D4 A4 B4")
)

SETTINGS = st.builds(
    Settings,
    instrument=st.sampled_from(Instrument),
    size=st.sampled_from(Size),
    retuned=st.sampled_from(RETUNED),
    reference_hz=st.floats(380.0, 480.0).map(Hz),
    temperament=st.sampled_from(Temperament),
    fine_tuners=st.sampled_from(FineTuners),
    pegs=st.sampled_from(Pegs),
    left_handed=st.booleans(),
    string_set=st.sampled_from(StringSet),
    tolerance=st.sampled_from(Tolerance),
    pegs_by_grown_up=st.booleans(),
    order=st.sampled_from(Order),
    cores=st.sampled_from(Cores),
    move_on=st.booleans(),
)
