"""Sampled instruments of npm packages, which chose nothing: right note, honest error, Praat's pitch.

`tests/sampled_notes.py` says which packages, how to have them, and what their guitars cannot tell. Praat's
autocorrelation method (P. Boersma, 1993) by the library parselmouth is the independent judge.
"""

from functools import lru_cache
from importlib.util import find_spec

import numpy as np
import pytest

from dsp import Hz, Instrument, PitchTracker, Reading, cents

if find_spec("soundfile") is None or find_spec("parselmouth") is None:
    pytest.skip("soundfile or parselmouth is not installed (extra: bench)", allow_module_level=True)

import parselmouth

from tests import sampled_notes
from tests.bench.recorded_figures import Figures, Scene, heard
from tests.each import each

REASON = sampled_notes.missing()
pytestmark = [
    pytest.mark.heavy,
    pytest.mark.skipif(REASON is not None, reason=f"{REASON}, so its notes cannot be read"),
]

ALL = [(name, instrument) for name, kinds in sampled_notes.AS.items() for instrument in kinds]
PLUCKED = [pair for pair in ALL if pair[0] in sampled_notes.PLUCKED]
BOWED = [pair for pair in ALL if pair[0] in sampled_notes.BOWED]
HARP = [pair for pair in ALL if pair[0] == "harp"]
EARLY_S, LATE_S = (0.3, 0.6), (0.8, 1.2)  # after the onset
STEP = 3.0  # cents from the one to the other by Praat: more is a step that an editor made
WINDOW_S = 0.15  # of Praat beside one reading, a vibrato's period
ANOTHER_NOTE = 50.0  # cents

Said = list[tuple[float, Reading]]


@lru_cache(maxsize=32)
def listened(name: str, heard_as: Instrument) -> list[tuple[sampled_notes.SampledNote, Said]]:
    """Each note, and all readings of it with their times since the onset."""
    found = list(sampled_notes.notes(name, heard_as))
    return [(note, heard(Scene(note, note.sound, note.rate), PitchTracker)) for note in found]


def figures(pairs) -> Figures:
    made = Figures()
    for note, said in each(one for pair in pairs for one in listened(*pair)):
        made.add(note, said)
    return made


def praat_hz(note: sampled_notes.SampledNote, start_s: float, end_s: float) -> Hz | None:
    """The pitch between two times after the onset; None where Praat finds none near the note's."""
    first, last = (round((note.onset_s + t) * note.rate) for t in (start_s, end_s))
    sound = parselmouth.Sound(note.sound[first:last].astype(float), note.rate)
    floor = max(note.nominal_hz / 1.25, 3.1 / (end_s - start_s))
    track = sound.to_pitch_ac(pitch_floor=floor, pitch_ceiling=1.25 * note.nominal_hz, very_accurate=True)
    voiced = [f for f in track.selected_array["frequency"] if f > 0]
    return Hz(float(np.median(voiced))) if voiced else None


def test_as_many_notes_as_the_packages_hold_are_listened_to():
    assert sum(len(listened(*pair)) for pair in PLUCKED) == 144
    assert sum(len(listened(*pair)) for pair in BOWED) == 101


def test_no_sampled_note_is_heard_as_another_note_or_octave():
    """A swinging bowed note is judged by what Praat hears at that moment."""
    far, judged = [], 0
    for note, said in each(one for pair in ALL for one in listened(*pair)):
        for since, reading in said:
            if abs(cents(reading.frequency_hz, note.nominal_hz)) <= ANOTHER_NOTE:
                judged += 1
                continue
            there = praat_hz(note, since - WINDOW_S, since)
            if there is None or abs(cents(reading.frequency_hz, there)) > ANOTHER_NOTE:
                far.append(f"{note.set_name} {note.name}: {reading.frequency_hz:.1f} Hz at {since:.2f} s")
    assert judged > 3000
    assert far == []


def test_every_sampled_pluck_is_heard():
    assert figures(PLUCKED).wrong["silent"] == 0


def test_all_but_a_few_swinging_bowed_notes_are_heard():
    """Six of 101, all with a vibrato of 10 to 20 cents, as no open string has."""
    assert figures(BOWED).wrong["silent"] <= 6


def test_sampled_plucks_are_answered_soon():
    """By 0.1 and 0.15 s, lower notes in proportion to their period; 39 and 82 % were measured."""
    made = figures(PLUCKED)
    assert made.known > 120
    assert made.answered[0.1] >= 0.38 * made.known
    assert made.answered[0.15] >= 0.80 * made.known


@pytest.mark.parametrize("moment", [0.2, 0.3, 0.6])
def test_a_sampled_harp_stays_inside_twice_its_stated_error(moment):
    made = figures(HARP)
    assert len(made.errors[moment]) >= 20
    assert made.inside(moment, 2) >= 95.0


def test_a_sampled_harp_is_read_within_a_few_cents_of_where_it_settles():
    errors = [abs(error) for error, _ in figures(HARP).errors[0.3]]
    assert len(errors) > 25
    assert np.median(errors) < 2.0
    assert np.percentile(errors, 95) < 5.0


def test_what_is_read_late_is_what_praat_hears():
    off = []
    for note, said in each(one for pair in PLUCKED for one in listened(*pair)):
        late = [reading for since, reading in said if since <= LATE_S[1]]
        there = praat_hz(note, *LATE_S) if late and note.truth else None
        if there is not None:
            off.append(abs(cents(late[-1].frequency_hz, there)))
    assert len(off) > 120
    assert np.median(off) < 1.5
    assert np.percentile(off, 90) < 5.0


def stands(note: sampled_notes.SampledNote) -> bool:
    early, late = praat_hz(note, *EARLY_S), praat_hz(note, *LATE_S)
    return early is not None and late is not None and abs(cents(early, late)) < STEP


def test_no_sampled_harp_string_that_stands_seems_to_be_turned():
    standing = [one for pair in HARP for one in listened(*pair) if stands(one[0])]
    assert len(standing) >= 25
    turned = [
        f"{note.name} {reading.drift_cents_per_s:.0f} cents/s at {since:.2f} s"
        for note, said in standing
        for since, reading in said
        if reading.drift_cents_per_s != 0.0
    ]
    assert turned == []
