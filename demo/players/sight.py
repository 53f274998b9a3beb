"""From the lesson to a player's eye: the only place of the simulation that reads the lesson's types."""

from demo.mechanics.geometry import Spin
from demo.players.picture import Asks, Picture, PicturedPart, PicturedTurn
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.state import Coach, Mark, Phase

SPIN = {Rotation.CLOCKWISE: Spin.CLOCKWISE, Rotation.COUNTER_CLOCKWISE: Spin.COUNTER_CLOCKWISE}
PART = {TuningPart.PEG: PicturedPart.PEG, TuningPart.FINE_TUNER: PicturedPart.SCREW}
DEGREES: dict[
    tuple[PicturedPart, Amount], float
] = {  # where the picture gives no length, what a hand takes it for
    (PicturedPart.PEG, Amount.A_HAIR): 2.0,
    (PicturedPart.PEG, Amount.A_LITTLE): 6.0,
    (PicturedPart.PEG, Amount.MORE): 20.0,
    (PicturedPart.SCREW, Amount.A_HAIR): 30.0,
    (PicturedPart.SCREW, Amount.A_LITTLE): 120.0,
    (PicturedPart.SCREW, Amount.MORE): 360.0,
}
CORRECTS = {Say.OTHER_STRING, Say.PLUCK_OTHERS, Say.LOOSEN_BACK, Say.PLUCK_ALL}
HELPS = {Say.NO_PITCH}
SAYS_WAIT = {Say.WAIT, Say.CHECK_BRIDGE}
GROWN_UP = {Say.GROWN_UP, Say.ASK_TEACHER}


def seen(coach: Coach) -> Picture:
    """What a player sees of the lesson at this moment."""
    advice = coach.advice
    asks = _asks(coach)
    return Picture(
        asks,
        coach.string,
        _turn(coach) if asks is Asks.TURN else None,
        advice.string or coach.string if asks is Asks.PLUCK else None,
        helps=advice.say in HELPS,
        listening=coach.phase is Phase.LISTENING,
        corrects=advice.say in CORRECTS,
        all_right=coach.phase is Phase.FINISHED and advice.say is Say.ALL_RIGHT,
        left=frozenset(s.name for s in coach.strings if s.mark is Mark.GROWN_UP),
        words=_words(coach),
        same=(asks, coach.string, advice.say, advice.turn, advice.string, advice.direction, advice.warning),
    )


def _asks(coach: Coach) -> Asks:
    advice = coach.advice
    if coach.phase is Phase.FINISHED:
        return Asks.END
    if advice.warning is not None:
        return Asks.STOP if advice.warning is Alarm.STOP else Asks.PLUCK
    if coach.phase in {Phase.LISTENING, Phase.RIGHT}:
        return Asks.NOTHING
    if advice.turn is not TuningPart.NONE and advice.direction is not Direction.NONE:
        return Asks.TURN
    if advice.say in GROWN_UP:
        return Asks.GROWN_UP
    return Asks.WAIT if advice.say in SAYS_WAIT else Asks.PLUCK


def _turn(coach: Coach) -> PicturedTurn:
    advice = coach.advice
    part = PART[advice.turn]
    return PicturedTurn(
        part,
        advice.string or coach.string,
        advice.direction is Direction.TIGHTEN,
        advice.degrees or DEGREES[part, advice.amount or Amount.A_HAIR],
        SPIN[advice.rotation] if advice.rotation is not None else None,
        advice.away if part is PicturedPart.PEG else None,
        advice.push_in,
    )


def _words(coach: Coach) -> str:
    a: Advice = coach.advice
    number = "" if coach.cents is None else f" {coach.cents:+.1f}"
    parts = [p.value for p in (a.turn, a.direction, a.amount, a.warning) if p is not None]
    degrees = "" if a.degrees is None else f" {a.degrees:.1f}"
    said = f"{a.say.value} {a.string or ''} {' '.join(parts)}{degrees}"
    return f"{coach.string} {coach.phase.value}{number} {said}"
