"""One plain English sentence for each piece of advice."""

from device.config.settings import Settings
from device.instrument.frozen import replace
from device.instrument.tuning_parts import Amount, Direction, Rotation, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from dsp import Instrument, OpenString

_AMOUNT = {Amount.A_HAIR: "a hair", Amount.A_LITTLE: "a little", Amount.MORE: "some more"}
_ROTATION = {Rotation.CLOCKWISE: "clockwise", Rotation.COUNTER_CLOCKWISE: "counter-clockwise"}
_WARNING = {
    Alarm.STOP: "Stop: this string is close to breaking. Take your hand away and ask a grown-up.",
    Alarm.SLOWLY: "Slowly: turn less, and pluck after each turn.",
    Alarm.ANOTHER_INSTRUMENT: "This does not sound like the instrument that is set: choose yours first.",
    Alarm.ANOTHER_REFERENCE: "All strings are off alike: ask which reference pitch is wanted.",
}
_PLAIN = {
    Say.PLUCK: "Pluck this string.",
    Say.PLUCK_AGAIN: "Pluck it once more and let it ring.",
    Say.PLUCK_OTHERS: "Pluck the other string that is shown first.",
    Say.PLUCK_ALL: "Pluck all the strings, one after the other, as pictured.",
    Say.CHECK: "Strings pull at each other: pluck this one once more.",
    Say.NO_PITCH: "No pitch was heard: pluck in the middle, or ask whether the string is whole.",
    Say.TOO_FAST: "Slowly: let the string ring before the next pluck.",
    Say.CHECK_BRIDGE: "A grown-up looks whether the bridge still stands straight.",
    Say.WAIT: "A new string stretches: leave it alone for a moment.",
    Say.GROWN_UP: "Leave this one for a grown-up.",
    Say.ASK_TEACHER: "This string is too far off: ask your teacher.",
    Say.RIGHT: "That string is in tune.",
    Say.ALL_RIGHT: "All strings are in tune.",
    Say.STAYS_OFF: "Some strings are still off: show a grown-up.",
}
_BEFORE = {
    Say.COME_UP: "Now come back up: ",
    Say.PUSH_IN: "The peg slipped: ",
    Say.LOOSEN_BACK: "The wrong one moved: ",
    Say.BACK_OUT: "The fine tuner is at its end: ",
    Say.TURN_ON: "That went the other way: ",
}


def sentence(advice: Advice, settings: Settings) -> str:
    """One whole sentence of plain English."""
    if advice.warning is not None:
        return _WARNING[advice.warning]
    if advice.say is Say.OTHER_STRING:
        sounded = "another string" if advice.heard is None else f"the {_letter(advice.heard)}"
        return f"That sounded like {sounded}: pluck the one that is shown."
    if advice.say is Say.GROWN_UP and advice.direction is not Direction.NONE:
        words = _turn_words(replace(advice, turn=TuningPart.PEG), settings)
        return f"This one is for a grown-up: {words}."
    if advice.turn is TuningPart.NONE:
        return _PLAIN.get(advice.say, _PLAIN[Say.ASK_TEACHER])
    words = _BEFORE.get(advice.say, "") + _turn_words(advice, settings)
    return words[0].upper() + words[1:] + "."


def _letter(name: str) -> str:
    return OpenString.named(name).letter


def _turn_words(advice: Advice, settings: Settings) -> str:
    """The turn itself: what, which way, how far and how."""
    bass = settings.instrument is Instrument.DOUBLE_BASS
    thing = "fine tuner" if advice.turn is TuningPart.FINE_TUNER else "machine head" if bass else "peg"
    verb = "tighten" if advice.direction is Direction.TIGHTEN else "loosen"
    which = "" if advice.string is None else f" of the {_letter(advice.string)} string"
    words = f"{verb} the {thing}{which}"
    if advice.amount is not None:
        words += f" by {_AMOUNT[advice.amount]}"
    ways = [] if advice.rotation is None else [_ROTATION[advice.rotation]]
    if advice.away is not None:
        ways.append("away from you" if advice.away else "towards you")
    if ways:
        words += f" ({', '.join(ways)})"
    if advice.push_in:
        words += ", pushing it in as you turn"
    return words + (" while you pluck" if advice.turn is TuningPart.FINE_TUNER else ", then pluck")
