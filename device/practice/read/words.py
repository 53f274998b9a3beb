"""What Read shows, as a line of words for whoever cannot see the panel."""

from device.config.settings import Settings
from device.notation.pitches import called
from device.practice.read.answers import Verdict
from device.practice.read.session import NoteMark, ReadPhase, ReadState

_SAID = {
    Verdict.RIGHT: "right",
    Verdict.A_LITTLE_LOW: "right, a little low",
    Verdict.A_LITTLE_HIGH: "right, a little high",
    Verdict.GO_UP: "go up",
    Verdict.GO_DOWN: "go down",
    Verdict.OCTAVE_UP: "an octave higher",
    Verdict.OCTAVE_DOWN: "an octave lower",
}


def read_words(state: ReadState, settings: Settings) -> str | None:
    """What is told; None while a note is waited for."""
    if state.phase is ReadPhase.SUMMARY:
        at_once = sum(mark in {NoteMark.RIGHT, NoteMark.TOLD} for mark in state.marks)
        return f"{at_once} of {len(state.marks)} right at once"
    if state.phase is ReadPhase.HIDDEN:
        return "you decide, then press next"
    if state.phase is not ReadPhase.TOLD or state.answer is None:
        return None
    heard = called(state.answer.heard, settings.note_names)
    letter = f"; the note is {called(state.asked.pitch, settings.note_names)}" if state.letter else ""
    return f"heard {heard}: {_SAID[state.answer.verdict]}{letter}"
