"""One pupil at Read: ten notes, then how it went, then ten more.

    asking --a note is heard--> told --right, after a moment--> asking, or summary after ten
                                 |  --wrong, the next note heard--> told
                                 +- by ear first: hidden until next is pressed

Nothing is kept beyond the session but the step that was reached, which is a setting.
"""

from dataclasses import dataclass, replace
from enum import Enum

from device.config.practice_settings import ReadStep
from device.config.settings import Settings
from device.events import Button, Heard, NoteHeld, Pressed
from device.notation.chance import Chance, seeded
from device.notation.pitches import sounding_hz
from device.notation.staff import written_up
from device.practice.events import PracticeEvent, PracticeTone
from device.practice.read.answers import (
    KNOWN_BY_S,
    SAME_NOTE_S,
    SETTLES_S,
    Answer,
    Ear,
    Verdict,
    held_ear,
    judged_note,
    listened,
)
from device.practice.read.spacing import Deck, deck_of
from device.practice.read.steps import Asked, Played, asked_at
from dsp import Seconds

SET = 10  # notes, then a picture of how it went
LEAVES_STEP_AT = 9  # right at the first go, of the last SET: the step is left
RIGHT_SHOWN_S = Seconds(1.6)  # chosen: long enough to be seen across a room
LETTER_AFTER = 2  # misses
TONE_S = Seconds(2.0)  # chosen: long enough to find the note by ear


class ReadPhase(Enum):
    """Where the practice stands."""

    ASKING = "asking"
    HIDDEN = "hidden"  # by ear first: a note was heard, and the player has not decided yet
    TOLD = "told"
    SUMMARY = "summary"


class NoteMark(Enum):
    """How one of the ten went."""

    RIGHT = "right"
    TOLD = "told"  # right, a little low or high
    LATER = "later"  # right, but not at the first go, or helped by the letter or the tone
    LEFT = "left"  # passed over


@dataclass(frozen=True, slots=True)
class ReadState:
    """Everything of one session."""

    played: Played
    step: ReadStep
    deck: Deck
    chance: Chance
    asked: Asked
    since: Seconds  # when this phase began
    fresh: Seconds  # a sounding counts that began after this
    phase: ReadPhase = ReadPhase.ASKING
    ear: Ear | None = None
    told: Ear | None = None  # what was told of last, whatever note was asked for
    told_until: Seconds = Seconds(0.0)  # when that very note was heard last
    answer: Answer | None = None
    misses: int = 0  # of the note that is asked for
    letter: bool = False  # it is shown
    toned: Seconds | None = None  # when the note was last sounded for the player
    sounding: bool = False  # it still does
    marks: tuple[NoteMark, ...] = ()  # of this set
    recent: tuple[bool, ...] = ()  # of this step: right at the first go, the last SET


def played_by(settings: Settings) -> Played:
    """The instrument of the settings."""
    return Played(settings.instrument, settings.strings)


def read_begun(settings: Settings, at: Seconds) -> ReadState:
    """The practice as it is entered; the moment seeds its chance."""
    played = played_by(settings)
    return _asking(_at_step(settings.read_step, played, seeded(round(1000.0 * at)), at), at)


def read_after(state: ReadState, event: PracticeEvent, settings: Settings) -> ReadState:
    """The session after one event."""
    match event:
        case Heard():
            return _heard(state, event, settings)
        case NoteHeld():
            return _held(state, event, settings)
        case Pressed(at, button):
            return _button_pressed(state, button, at, settings)
    if state.toned is not None and state.sounding and event.at >= state.toned + TONE_S:
        state = replace(state, sounding=False)
    if state.phase is ReadPhase.TOLD and _good(state) and event.at - state.since >= RIGHT_SHOWN_S:
        return _onward(state, event.at, settings)
    return state


def read_settings(state: ReadState, settings: Settings) -> Settings:
    """The settings with the step that was reached, so that tomorrow goes on from there."""
    return replace(settings, read_step=state.step)


def sound_to_read(state: ReadState, settings: Settings) -> PracticeTone | None:
    """The note that is asked for, when the third button asked for it."""
    if state.toned is None or not state.sounding:
        return None
    number = state.asked.pitch.note_number - 12 * written_up(state.played.instrument)
    hz = sounding_hz(number, settings.reference_hz)
    return PracticeTone(hz, state.toned, TONE_S)


def _at_step(step: ReadStep, played: Played, chance: Chance, at: Seconds) -> ReadState:
    deck = deck_of(asked_at(step, played))
    return ReadState(played, step, deck, chance, deck.cards[0].asked, at, at)


def _asking(state: ReadState, at: Seconds) -> ReadState:
    """The next note."""
    asked, chance = state.deck.drawn(state.chance)
    return replace(
        state,
        asked=asked,
        chance=chance,
        since=at,
        fresh=at,
        phase=ReadPhase.ASKING,
        ear=None,
        answer=None,
        misses=0,
        letter=False,
        toned=None,
        sounding=False,
    )


def _good(state: ReadState) -> bool:
    return state.answer is not None and state.answer.verdict.good


def _heard(state: ReadState, event: Heard, settings: Settings) -> ReadState:
    if Seconds(event.at - event.since_pluck_s) <= state.fresh:
        return state
    if state.phase is ReadPhase.SUMMARY:
        return _asking(replace(state, marks=()), event.at)
    before = state.ear
    ear = listened(before, event, settings.reference_hz)
    state = _still(replace(state, ear=ear), ear, event.at)
    if ear is None or not ear.sure or _was_held(state.told, ear):
        return state
    if before is not None and before.pluck == ear.pluck and before.sure:
        return _settled(state, ear)
    if _is_old(state.told, ear) or (state.phase is ReadPhase.TOLD and _good(state)):
        return state  # it rings on, or is played again while it is praised
    return _told(state, ear, event.at, settings)


def _held(state: ReadState, event: NoteHeld, settings: Settings) -> ReadState:
    """A note that stands: told where readings say nothing of it, as of a bow that goes on to another note."""
    ear, known = held_ear(event, settings.reference_hz), state.ear
    goes_on = _told_again(state.told, ear) and ear.began - state.told_until < SAME_NOTE_S
    state = _still(state, ear, event.at)
    if not ear.sure or goes_on or event.began <= state.fresh or state.phase is ReadPhase.SUMMARY:
        return state
    if known is not None and known.sure and abs(known.began - ear.began) < SAME_NOTE_S:
        return state
    if state.phase is ReadPhase.TOLD and _good(state):
        return state
    return _told(state, ear, event.at, settings)


def _still(state: ReadState, ear: Ear | None, at: Seconds) -> ReadState:
    """The note that was told of goes on."""
    return replace(state, told_until=at) if _told_again(state.told, ear) else state


def _told_again(told: Ear | None, ear: Ear | None) -> bool:
    return told is not None and ear is not None and told.note_number == ear.note_number


def _was_held(told: Ear | None, ear: Ear) -> bool:
    """Whether these readings are of a note that was told of because it stood."""
    held = told is not None and told.pluck < 0 and told.note_number == ear.note_number
    return held and told is not None and abs(told.began - ear.began) < SAME_NOTE_S


def _is_old(told: Ear | None, ear: Ear) -> bool:
    """Whether readings go on of what began before the note that was told of last: a finger changed it."""
    return ear.age_s > KNOWN_BY_S or (told is not None and told.pluck < 0 and ear.began < told.began)


def _settled(state: ReadState, ear: Ear) -> ReadState:
    """The same note, read more surely: only how near it is may change."""
    old = state.answer
    if old is None or ear.age_s > SETTLES_S:
        return state
    new = judged_note(ear, state.asked, state.played)
    same = new.heard == old.heard and new.verdict.good is old.verdict.good
    return replace(state, answer=new) if same else state


def _told(state: ReadState, ear: Ear, at: Seconds, settings: Settings) -> ReadState:
    answer = judged_note(ear, state.asked, state.played)
    state = replace(state, answer=answer, since=at, told=ear, told_until=at)
    return replace(state, phase=ReadPhase.HIDDEN) if settings.by_ear else _revealed(state, at)


def _revealed(state: ReadState, at: Seconds) -> ReadState:
    misses = state.misses + (not _good(state))
    letter = state.letter or misses >= LETTER_AFTER
    return replace(state, misses=misses, letter=letter, phase=ReadPhase.TOLD, since=at)


def _button_pressed(state: ReadState, button: Button, at: Seconds, settings: Settings) -> ReadState:
    if state.phase is ReadPhase.SUMMARY:
        return _asking(replace(state, marks=()), at)
    if button is Button.NEXT:
        return _next_pressed(state, at, settings)
    if button is Button.PREVIOUS:
        return replace(state, letter=True)
    return replace(state, toned=at, sounding=not state.sounding)


def _next_pressed(state: ReadState, at: Seconds, settings: Settings) -> ReadState:
    if state.phase is ReadPhase.HIDDEN:
        return _revealed(state, at)
    if state.phase is ReadPhase.TOLD and _good(state):
        return _onward(state, at, settings)
    return _noted(state, NoteMark.LEFT, at, settings)


def _onward(state: ReadState, at: Seconds, settings: Settings) -> ReadState:
    """The note was played; mark it and ask for the next."""
    told = state.answer is not None and state.answer.verdict is not Verdict.RIGHT
    first = state.misses == 0 and not state.letter and state.toned is None
    mark = (NoteMark.TOLD if told else NoteMark.RIGHT) if first else NoteMark.LATER
    return _noted(state, mark, at, settings)


def _noted(state: ReadState, mark: NoteMark, at: Seconds, settings: Settings) -> ReadState:
    known = mark in {NoteMark.RIGHT, NoteMark.TOLD}
    recent = (*state.recent, known)[-SET:]
    state = replace(
        state,
        deck=state.deck.answered_with(state.asked, known),
        marks=(*state.marks, mark),
        recent=recent,
    )
    if (
        settings.steps_move
        and len(recent) == SET
        and sum(recent) >= LEAVES_STEP_AT
        and state.step is not state.step.next
    ):
        climbed = _at_step(state.step.next, state.played, state.chance, at)
        state = replace(climbed, marks=state.marks)
    if len(state.marks) >= SET:
        return replace(state, phase=ReadPhase.SUMMARY, since=at, fresh=at)
    return _asking(state, at)
