"""Read beside its readings: the note that it sounds when asked for it, and notes that stand under a bow."""

from dataclasses import replace

import pytest

from device.config.settings import Settings
from device.events import NoteHeld
from device.notation.pitches import sounding_hz
from device.notation.staff import Signature, written_up
from device.practice.read.session import ReadPhase, read_after, read_begun, sound_to_read
from dsp import Hz, Instrument, Seconds
from tests.test_read import Pupil, played

music21 = pytest.importorskip("music21", reason="music21 is in the extra [test]: pip install wallpeg[test]")

AGO_S = 0.3  # a bow has brought the note up by then


@pytest.mark.parametrize("instrument", Instrument)
def test_the_note_that_is_asked_for_sounds_as_it_is_written_and_on_a_double_bass_an_octave_lower(instrument):
    """music21 has the pitches; a double bass is written an octave above where it sounds (common practice)."""
    settings = Settings(instrument=instrument)
    state = read_begun(settings, Seconds(1.0))
    assert sound_to_read(state, settings) is None
    tone = sound_to_read(replace(state, toned=Seconds(2.0), sounding=True), settings)
    assert tone is not None
    written = music21.pitch.Pitch(midi=state.asked.pitch.note_number).frequency
    assert tone.frequency_hz == pytest.approx(written / (2 if instrument is Instrument.DOUBLE_BASS else 1))


def stands(pupil: Pupil, note_number: int, began: float, at: float, off: float = 0.0) -> Pupil:
    """A written note that began to stand then and is told of now, some cents off."""
    sounds = sounding_hz(
        note_number - 12 * written_up(pupil.settings.instrument), pupil.settings.reference_hz
    )
    hz = Hz(sounds * 2.0 ** (off / 1200.0))
    pupil.now = at
    pupil.state = read_after(pupil.state, NoteHeld(Seconds(at), Seconds(began), hz, 1), pupil.settings)
    return pupil


def test_a_bowed_note_that_stands_is_answered_though_no_reading_tells_of_it():
    pupil = Pupil()
    stands(pupil, pupil.state.asked.pitch.note_number, 11.0, 11.0 + AGO_S)
    assert pupil.verdict is not None
    assert pupil.verdict.name == "RIGHT"
    wrong = Pupil()
    stands(wrong, wrong.state.asked.pitch.note_number - 2, 11.0, 11.0 + AGO_S)
    assert wrong.verdict is not None
    assert wrong.verdict.name == "GO_UP"


@pytest.mark.parametrize(
    ("off", "after_s", "answered"), [(0.0, 0.05, False), (-25.0, 0.3, False), (-25.0, 0.5, True)]
)
def test_a_note_that_has_just_begun_or_may_still_sink_to_another_is_no_answer_yet(off, after_s, answered):
    """A hard pluck starts some ten cents sharp, up to forty (recorded violins): what stands low may be the
    note below."""
    pupil = Pupil()
    stands(pupil, pupil.state.asked.pitch.note_number, 11.0, 11.0 + after_s, off=off)
    assert (pupil.verdict is not None) is answered


def test_a_note_that_goes_on_does_not_answer_the_next_question():
    pupil = Pupil()
    note = pupil.state.asked.pitch.note_number
    stands(pupil, note, 11.0, 11.3)
    asked_first = pupil.state.asked
    for tenth in range(1, 25):  # under the same bow, told of ten times a second
        pupil.waits(0.1)
        stands(pupil, note, 11.0, 11.3 + 0.1 * tenth)
    assert pupil.state.asked != asked_first
    assert pupil.state.phase is ReadPhase.ASKING


@pytest.mark.parametrize(
    ("instrument", "semitones"),
    [(Instrument.VIOLIN, 7), (Instrument.VIOLA, 7), (Instrument.CELLO, 5), (Instrument.DOUBLE_BASS, 4)],
)
def test_no_note_lies_further_than_the_fourth_finger_in_first_position(instrument, semitones):
    """A fifth over the open string on violin and viola, a fourth on the cello, a major third on the double
    bass (common practice): an extended hand comes later."""
    furthest = [
        max(note.note_number for note in played(instrument).on_string(opened, Signature(fifths)))
        - opened.note_number
        for opened in played(instrument).opens()
        for fifths in range(-2, 4)
    ]
    assert max(furthest) == semitones
