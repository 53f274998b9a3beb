"""The few words for whoever reads: what the picture says, and which instrument and pitch are set."""

from device.coach.state import Amount, Phase, Say, Turn
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
_PEG_AMOUNT = {Amount.A_HAIR: "a hair", Amount.A_LITTLE: "a little", Amount.MORE: "some more"}
_INSTRUMENT = {
    Instrument.VIOLIN: "violin",
    Instrument.VIOLA: "viola",
    Instrument.CELLO: "cello",
    Instrument.DOUBLE_BASS: "bass",
}


def caption(scene: Scene) -> str | None:
    """Up to eleven letters; None where the picture and the cents say it all."""
    coach, advice = scene.coach, scene.coach.advice
    if scene.by_ear:
        return "by ear"
    if scene.unfollowed and advice.turn is Turn.NONE:
        return "too soft"
    if coach.phase is Phase.LISTENING and advice.say is Say.PLUCK:
        return "listening"
    if advice.say is Say.TURN and advice.turn is Turn.PEG:
        return _PEG_AMOUNT.get(advice.amount or Amount.A_HAIR)
    if advice.say is Say.OTHER_STRING and advice.heard is not None:
        return f"that was {OpenString.named(advice.heard).letter}"
    return _SHORT.get(advice.say)


def instrument_and_pitch(settings: Settings) -> tuple[str, str]:
    """What is set, in as few letters as can be."""
    return _INSTRUMENT[settings.instrument], f"{settings.reference_hz:g}"
