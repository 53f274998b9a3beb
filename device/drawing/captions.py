"""The few words for whoever reads: what the picture says, and which instrument and pitch are set."""

from device.coach.state import Advice, Amount, Phase, Say, Turn
from device.scene import Scene
from device.settings import Settings
from dsp import Instrument, OpenString

_SHORT = {
    Say.PLUCK: "pluck",
    Say.PLUCK_AGAIN: "pluck again",
    Say.COME_UP: "come up",
    Say.PUSH_IN: "push in",
    Say.LOOSEN_BACK: "loosen back",
    Say.BACK_OUT: "back it out",
    Say.TURN_ON: "other way",
    Say.PLUCK_OTHERS: "the others",
    Say.PLUCK_ALL: "all of them",
    Say.WAIT: "wait",
    Say.GROWN_UP: "grown-up",
    Say.ASK_TEACHER: "ask",
    Say.RIGHT: "in tune",
}
_AMOUNT = {Amount.A_HAIR: "a hair", Amount.A_LITTLE: "a little", Amount.MORE: "some more"}
_INSTRUMENT = {
    Instrument.VIOLIN: "violin",
    Instrument.VIOLA: "viola",
    Instrument.CELLO: "cello",
    Instrument.DOUBLE_BASS: "bass",
}


def captions(scene: Scene) -> tuple[str, ...]:
    """Up to eleven letters each, to be shown one after the other; none where the picture says it all."""
    coach, advice = scene.coach, scene.coach.advice
    if scene.unfollowed:
        return ("too soft",)
    if advice.turn is not Turn.NONE:
        return _of_a_turn(advice)
    if scene.by_ear:
        return ("by ear", "next: show")
    if coach.phase is Phase.LISTENING and advice.say is Say.PLUCK:
        return ("listening",)
    if advice.say is Say.OTHER_STRING and advice.heard is not None:
        return (f"that was {OpenString.named(advice.heard).letter}",)
    return (_SHORT[advice.say],) if advice.say in _SHORT else ()


def _of_a_turn(advice: Advice) -> tuple[str, ...]:
    """Why; or of a plain turn of a peg how far and which way, since it turns by so little."""
    if advice.say in _SHORT:
        return (_SHORT[advice.say],)
    if advice.turn is not Turn.PEG:
        return ()
    far = () if advice.amount is None else (_AMOUNT[advice.amount],)
    way = () if advice.away is None else ("away" if advice.away else "towards you",)
    return far + way


def instrument_and_pitch(settings: Settings) -> tuple[str, str]:
    """What is set, in as few letters as can be."""
    return _INSTRUMENT[settings.instrument], f"{settings.reference_hz:.1f}".removesuffix(".0")
