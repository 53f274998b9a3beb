"""What was played, beside what was asked: right, a little low or high, which way to go, or an octave off."""

from dataclasses import dataclass
from enum import Enum

from device.events import Heard, NoteHeld
from device.notation.pitches import SEMITONE, WrittenPitch, semitones_of
from device.notation.staff import spelled_note, written_up
from device.practice.read.steps import Asked, Played
from dsp import Cents, Hz, Seconds

NEAR_THE_NOTE = Cents(
    35.0
)  # right; from there to half a semitone it is right and told to be low or high: the issue's
SURE_AFTER_S = Seconds(0.08)  # chosen: by then a pluck is within 15 cents of where it settles
AGREEING = 2  # readings one after the other that name the same note
DOUBTED = 0.3  # octave doubt; chosen: above it one waits for the next reading
UNSURE = Cents(25.0)  # a standard error above a quarter of a semitone names no note
MAY_SINK = Cents(-15.0)  # a note that stands lower than this may be a hard pluck of the note below: chosen
SUNK_AFTER_S = Seconds(0.4)  # chosen: by then readings have said so, or it stands no more
KNOWN_BY_S = Seconds(0.6)  # chosen: later, readings of a sounding tell of no other note; one that stands may
SAME_NOTE_S = Seconds(0.4)  # chosen: readings and a held note that began so near each other are one
SETTLES_S = Seconds(1.0)  # how long a note that was judged goes on being measured


class Verdict(Enum):
    """How the note that was heard lies to the note that was asked for."""

    RIGHT = "right"
    A_LITTLE_LOW = "a-little-low"  # right, and told
    A_LITTLE_HIGH = "a-little-high"
    GO_UP = "go-up"
    GO_DOWN = "go-down"
    OCTAVE_UP = "octave-up"  # the right letter: play it an octave higher
    OCTAVE_DOWN = "octave-down"

    @property
    def good(self) -> bool:
        """Whether the note was the one that was asked for."""
        return self in {Verdict.RIGHT, Verdict.A_LITTLE_LOW, Verdict.A_LITTLE_HIGH}


@dataclass(frozen=True, slots=True)
class Answer:
    """One note that was played."""

    verdict: Verdict
    heard: WrittenPitch  # as it is written
    off: Cents  # from that note, sharp positive; -50..50


@dataclass(frozen=True, slots=True)
class Ear:
    """What the readings of one sounding have said so far."""

    pluck: int
    note_number: int  # as it sounds
    off: Cents
    began: Seconds
    agreed: int = 1  # readings in a row that named this note
    age_s: Seconds = Seconds(0.0)

    @property
    def sure(self) -> bool:
        """Whether it is known which note it is."""
        return self.agreed >= AGREEING and self.age_s >= SURE_AFTER_S


def listened(ear: Ear | None, event: Heard, reference_hz: Hz) -> Ear | None:
    """What is known after one more reading; unchanged where the reading says nothing."""
    if event.octave_doubt > DOUBTED or event.std_error_cents > UNSURE:
        return ear
    place = semitones_of(event.frequency_hz, reference_hz)
    number = round(place)
    same = ear is not None and ear.pluck == event.pluck and ear.note_number == number
    began = (
        ear.began if ear is not None and ear.pluck == event.pluck else Seconds(event.at - event.since_pluck_s)
    )
    agreed = ear.agreed + 1 if same and ear is not None else 1
    return Ear(event.pluck, number, Cents(SEMITONE * (place - number)), began, agreed, event.since_pluck_s)


def held_ear(event: NoteHeld, reference_hz: Hz) -> Ear:
    """What a note that stands says; its number counts downwards, apart from the soundings of readings."""
    place = semitones_of(event.frequency_hz, reference_hz)
    number, age_s = round(place), Seconds(event.at - event.began)
    off = Cents(SEMITONE * (place - number))
    agreed = AGREEING if off >= MAY_SINK or age_s >= SUNK_AFTER_S else 1
    return Ear(-event.number, number, off, event.began, agreed, age_s)


def judged_note(ear: Ear, asked: Asked, played: Played) -> Answer:
    """The answer that a note is to what was asked for."""
    up = 12 * written_up(played.instrument)
    wanted = {asked.pitch.note_number, asked.also.note_number}
    written = ear.note_number + up
    heard = asked.also if written == asked.also.note_number else spelled_note(written, asked.signature)
    if written == asked.pitch.note_number:
        heard = asked.pitch
    return Answer(_verdict(written, wanted, ear.off), heard, ear.off)


def _verdict(written: int, wanted: set[int], off: Cents) -> Verdict:
    if written in wanted:
        if abs(off) <= NEAR_THE_NOTE:
            return Verdict.RIGHT
        return Verdict.A_LITTLE_LOW if off < 0 else Verdict.A_LITTLE_HIGH
    nearest = min(wanted, key=lambda number: abs(number - written))
    if any((number - written) % 12 == 0 for number in wanted):
        return Verdict.OCTAVE_UP if nearest > written else Verdict.OCTAVE_DOWN
    return Verdict.GO_UP if nearest > written else Verdict.GO_DOWN
