"""Read: what is asked at each step, when it comes again, and how what is played is judged."""

import math
from dataclasses import replace

import pytest

from device.config.practice_settings import ReadStep
from device.config.settings import Settings
from device.events import Button, Heard, Pressed, Tick
from device.notation.chance import seeded
from device.notation.pitches import pitch_named, sounding_hz
from device.notation.staff import CLEFS, Signature, written_up
from device.practice.read.answers import Verdict
from device.practice.read.session import (
    NoteMark,
    ReadPhase,
    read_after,
    read_begun,
    read_settings,
    sound_to_read,
)
from device.practice.read.spacing import COMPARTMENTS, deck_of
from device.practice.read.steps import Played, asked_at
from dsp import OPEN_STRINGS, Cents, Hz, Instrument, OpenString, Seconds, shifted
from tests.each import each

A = Hz(440.0)


def played(instrument=Instrument.VIOLIN):
    return Played(instrument, OPEN_STRINGS[instrument])


def names(step, instrument=Instrument.VIOLIN):
    return [asked.pitch.name for asked in asked_at(step, played(instrument))]


class Pupil:
    """Plays written notes to a session, one reading every 40 ms."""

    def __init__(self, at=10.0, **settings):
        self.settings = Settings(**settings)
        self.state, self.now, self.pluck = read_begun(self.settings, Seconds(at)), at, 0

    def sounds(self, frequency_hz, lasts_s=0.4, doubt=0.0, error=1.0):
        self.now, self.pluck = self.now + 0.5, self.pluck + 1
        began = self.now
        while self.now < began + lasts_s:
            self.now += 0.04
            since = Seconds(self.now - began)
            heard = Heard(Seconds(self.now), self.pluck, frequency_hz, Cents(error), doubt, 0.0, -20.0, since)
            self.state = read_after(self.state, heard, self.settings)

    def plays(self, note_number, off=0.0, **how):
        up = 12 * written_up(self.settings.instrument)
        self.sounds(shifted(sounding_hz(note_number - up, self.settings.reference_hz), Cents(off)), **how)

    def plays_right(self):
        self.plays(self.state.asked.pitch.note_number)
        self.waits(2.0)

    def waits(self, seconds):
        self.now += seconds
        self.state = read_after(self.state, Tick(Seconds(self.now)), self.settings)

    def presses(self, button):
        self.now += 0.1
        self.state = read_after(self.state, Pressed(Seconds(self.now), button), self.settings)

    @property
    def verdict(self):
        return None if self.state.answer is None else self.state.answer.verdict


def test_the_violins_steps_are_those_of_beginners_books():
    """Common practice, without a source: the open strings, the naturals on lines and in spaces, the first
    finger as D major has it (A, E, B, F sharp), the first position from G3 to B5."""
    assert names(ReadStep.OPEN_STRINGS) == ["G3", "D4", "A4", "E5"]
    assert names(ReadStep.LINES) == ["E4", "G4", "B4", "D5", "F5"]
    assert names(ReadStep.SPACES) == ["F4", "A4", "C5", "E5"]
    assert names(ReadStep.FIRST_FINGER) == ["A3", "E4", "B4", "F#5"]
    assert names(ReadStep.ONE_STRING) == ["A4", "B4", "C#5", "D5", "E5"]
    scale = ["G3", "A3", "B3", "C#4", "D4", "E4", "F#4", "G4", "A4", "B4", "C#5", "D5", "E5", "F#5", "G5"]
    assert names(ReadStep.ALL_STRINGS) == [*scale, "A5", "B5"]


def test_the_viola_meets_the_same_fingers_a_fifth_lower():
    lower = [n.note_number - 7 for n in (pitch_named(name) for name in names(ReadStep.ALL_STRINGS))]
    ours = [pitch_named(name).note_number for name in names(ReadStep.ALL_STRINGS, Instrument.VIOLA)]
    assert ours == lower
    assert played(Instrument.VIOLA).first_key == Signature(1)


@pytest.mark.parametrize("instrument", Instrument)
@pytest.mark.parametrize("step", ReadStep)
def test_every_note_that_is_asked_for_can_be_played_and_drawn(instrument, step):
    asked = asked_at(step, played(instrument))
    assert len({(one.pitch, one.signature) for one in asked}) == len(asked) > 1
    for one in each(asked):
        assert played(instrument).reaches(one.pitch) or played(instrument).reaches(one.also)
        assert -5 <= CLEFS[instrument].position(one.pitch) <= 13
        assert -2 <= one.signature.fifths <= 3


def test_signs_stand_before_notes_and_keys_reach_from_two_flats_to_three_sharps():
    signs = asked_at(ReadStep.SIGNS, played())
    assert {one.signature.before(one.pitch).name for one in signs} == {"SHARP", "FLAT", "NATURAL"}
    assert {one.signature.fifths for one in asked_at(ReadStep.KEYS, played())} == {2, 3, 1, -1, -2}


def test_five_and_retuned_strings_have_steps_too():
    for strings in (("C3", "G3", "D4", "A4", "E5"), ("Bb3", "D4", "F#4", "D5")):
        own = Played(Instrument.VIOLIN, tuple(OpenString.named(name) for name in strings))
        for step in each(ReadStep):
            assert asked_at(step, own)


def test_a_missed_note_comes_back_after_two_others_and_a_known_one_waits_twice_as_long_each_time():
    """Leitner's boxes: forward one compartment when known, back to the first when not."""
    deck = deck_of(asked_at(ReadStep.ALL_STRINGS, played()))
    first, other = deck.cards[0].asked, deck.cards[1].asked
    waits = []
    for _ in range(COMPARTMENTS + 1):
        deck = deck.answered_with(first, known=True)
        waits.append(deck.cards[0].due - deck.answered)
    assert waits == [4, 8, 16, 32, 32, 32]
    deck = deck.answered_with(first, known=False)
    assert deck.cards[0].compartment == 1
    chance, order = seeded(3), []
    for _ in range(3):
        asked, chance = deck.drawn(chance)
        order.append(asked)
        deck = deck.answered_with(asked, known=True)
    assert first not in order[:1]
    assert order[2] == first or order[1] == first
    assert other != first


def test_what_troubles_comes_sooner_than_what_does_not():
    deck, chance, trouble, seen = deck_of(asked_at(ReadStep.SPACES, played())), seeded(1), None, []
    trouble = deck.cards[2].asked
    for _ in range(200):
        asked, chance = deck.drawn(chance)
        assert asked != deck.last
        seen.append(asked)
        deck = deck.answered_with(asked, known=asked != trouble)
    others = (200 - seen.count(trouble)) / 3
    assert seen.count(trouble) > 1.15 * others


@pytest.mark.parametrize(
    ("off", "verdict"),
    [
        (0.0, Verdict.RIGHT),
        (-34.9, Verdict.RIGHT),
        (34.9, Verdict.RIGHT),
        (-36.0, Verdict.A_LITTLE_LOW),
        (49.0, Verdict.A_LITTLE_HIGH),
        (51.0, Verdict.GO_DOWN),
        (-51.0, Verdict.GO_UP),
        (200.0, Verdict.GO_DOWN),
        (-200.0, Verdict.GO_UP),
        (1200.0, Verdict.OCTAVE_DOWN),
        (-1200.0, Verdict.OCTAVE_UP),
        (2400.0, Verdict.OCTAVE_DOWN),
    ],
)
def test_each_distance_has_its_verdict(off, verdict):
    pupil = Pupil(read_step=ReadStep.ALL_STRINGS)
    pupil.plays(pupil.state.asked.pitch.note_number, off)
    assert pupil.verdict is verdict


def test_before_sharps_are_met_the_letter_alone_counts():
    pupil = Pupil(read_step=ReadStep.LINES)
    met = 0
    for _ in range(10):
        asked = pupil.state.asked
        if asked.pitch.letter == "F":
            met += 1
            pupil.plays(asked.pitch.note_number + 1)
            assert pupil.verdict is Verdict.RIGHT
            pupil.waits(2.0)
        else:
            pupil.plays_right()
    assert met > 0
    later = Pupil(read_step=ReadStep.FIRST_FINGER)
    while later.state.asked.pitch.letter != "F":
        later.presses(Button.NEXT)
    later.plays(later.state.asked.pitch.note_number - 1)
    assert later.verdict is Verdict.GO_UP


@pytest.mark.parametrize("instrument", Instrument)
def test_a_double_bass_sounds_an_octave_below_what_is_written_and_nothing_else_does(instrument):
    pupil = Pupil(instrument=instrument)
    written = sounding_hz(pupil.state.asked.pitch.note_number, A)
    pupil.sounds(written)
    right = instrument is not Instrument.DOUBLE_BASS
    assert (pupil.verdict is Verdict.RIGHT) is right
    if not right:
        assert pupil.verdict is Verdict.OCTAVE_DOWN


def test_the_letter_comes_after_a_second_miss_or_a_press():
    pupil = Pupil()
    number = pupil.state.asked.pitch.note_number
    pupil.plays(number + 2)
    assert not pupil.state.letter
    pupil.plays(number + 2)
    assert pupil.state.letter
    other = Pupil()
    other.presses(Button.PREVIOUS)
    assert other.state.letter
    other.plays_right()
    assert other.state.marks == (NoteMark.LATER,)


def test_ten_notes_then_a_picture_then_ten_more():
    pupil = Pupil(steps_move=False)
    for _ in range(10):
        assert pupil.state.phase is ReadPhase.ASKING
        pupil.plays_right()
    assert pupil.state.phase is ReadPhase.SUMMARY
    assert pupil.state.marks == (NoteMark.RIGHT,) * 10
    pupil.sounds(A)
    assert pupil.state.phase is ReadPhase.ASKING
    assert pupil.state.marks == ()


def test_a_step_is_left_when_nine_of_the_last_ten_were_right_and_not_before():
    for misses, leaves in ((0, True), (1, True), (2, False)):
        pupil = Pupil()
        for note in range(10):
            assert pupil.state.step is ReadStep.OPEN_STRINGS
            if note < misses:
                pupil.plays(pupil.state.asked.pitch.note_number + 1)
            pupil.plays_right()
        assert (pupil.state.step is ReadStep.LINES) is leaves
        assert read_settings(pupil.state, pupil.settings).read_step is pupil.state.step


def test_the_teacher_may_hold_the_step():
    pupil = Pupil(steps_move=False)
    for _ in range(10):
        pupil.plays_right()
    assert pupil.state.step is ReadStep.OPEN_STRINGS


def test_the_last_step_is_not_left():
    assert ReadStep.KEYS.next is ReadStep.KEYS


def test_what_rang_before_the_note_was_asked_for_is_no_answer():
    pupil = Pupil()
    pupil.plays(pupil.state.asked.pitch.note_number, lasts_s=2.5)
    assert pupil.state.answer is not None
    pupil.waits(0.01)  # asks for the next
    assert pupil.state.phase is ReadPhase.ASKING
    event = Heard(Seconds(pupil.now + 0.1), pupil.pluck, A, Cents(0.5), 0.0, 0.0, -20.0, Seconds(2.7))
    assert read_after(pupil.state, event, pupil.settings).answer is None


def test_a_note_that_is_not_surely_known_is_not_judged():
    pupil = Pupil()
    pupil.plays(60, doubt=0.6)
    pupil.plays(60, error=30.0)
    pupil.plays(60, lasts_s=0.05)
    assert pupil.state.answer is None


def test_which_note_is_told_within_a_quarter_of_a_second():
    pupil = Pupil()
    pupil.plays(60, lasts_s=0.25)
    assert pupil.state.phase is ReadPhase.TOLD
    assert pupil.state.since - (pupil.now - 0.25) < 0.25


def test_the_settled_note_says_how_near_it_was():
    """A pluck begins up to 40 cents sharp on recorded violins and settles within a second."""
    pupil = Pupil()
    number, began = pupil.state.asked.pitch.note_number, pupil.now + 0.5
    for i in range(20):
        since = 0.04 * (i + 1)
        hz = shifted(sounding_hz(number, A), Cents(45.0 * math.exp(-since / 0.15)))
        heard = Heard(Seconds(began + since), 1, hz, Cents(1.0), 0.0, 0.0, -20.0, Seconds(since))
        pupil.state = read_after(pupil.state, heard, pupil.settings)
    assert pupil.verdict is Verdict.RIGHT
    assert abs(pupil.state.answer.off) < 2.0


def test_by_ear_first_hides_the_verdict_until_next_is_pressed():
    pupil = Pupil(by_ear=True)
    number = pupil.state.asked.pitch.note_number
    pupil.plays(number + 2)
    assert pupil.state.phase is ReadPhase.HIDDEN
    pupil.plays(number)
    assert pupil.state.phase is ReadPhase.HIDDEN
    pupil.presses(Button.NEXT)
    assert pupil.state.phase is ReadPhase.TOLD
    pupil.waits(2.0)
    assert pupil.state.marks == (NoteMark.RIGHT,)


def test_the_third_button_sounds_the_note_as_it_sounds_and_stops_it():
    pupil = Pupil(instrument=Instrument.DOUBLE_BASS)
    assert sound_to_read(pupil.state, pupil.settings) is None
    pupil.presses(Button.TONE)
    sound = sound_to_read(pupil.state, pupil.settings)
    assert min(abs(sound.frequency_hz - hz) for hz in pupil.settings.targets.values()) < 0.01
    pupil.presses(Button.TONE)
    assert sound_to_read(pupil.state, pupil.settings) is None
    pupil.presses(Button.TONE)
    pupil.waits(2.5)
    assert sound_to_read(pupil.state, pupil.settings) is None


def test_another_reference_pitch_moves_what_is_right():
    pupil = Pupil(reference_hz=Hz(415.0))
    pupil.plays(pupil.state.asked.pitch.note_number)
    assert pupil.verdict is Verdict.RIGHT


def test_the_same_moment_asks_the_same_notes():
    one, other = Pupil(at=12.0), Pupil(at=12.0)
    assert one.state == other.state
    assert len({Pupil(at=t).state.asked for t in range(30)}) == 4
    assert replace(one.state, letter=True) != other.state
