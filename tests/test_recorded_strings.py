"""Recorded strings, of takes that chose nothing: every one heard, none as another note, honest errors.

The two sets are named in `tests/bench/recorded_notes.py`; hand in their folder with `--recorded DIR`. A
double bass tuned in fifths, C1 G1 D2 A2, played two and four times as fast is a cello and a viola or violin.
"""

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from device.config.settings import Settings
from device.sounding_reports import sounding_reports
from dsp import Instrument, PitchTracker, Reading, cents

SETS = ("guitar", "bass x4", "bass x2", "bass x1")
WRONG_CENTS = 60.0
FADED_S = 0.2  # at the end of a file, where it was faded out
TRUTH_CENTS = 1.5  # what the truth itself may be off
OPEN = {  # set and note of the bass: instrument and string
    ("bass x4", "g1"): (Instrument.VIOLIN, "G3"),
    ("bass x4", "d2"): (Instrument.VIOLIN, "D4"),
    ("bass x4", "a2"): (Instrument.VIOLIN, "A4"),
    ("bass x4", "c1"): (Instrument.VIOLA, "C3"),
    ("bass x2", "c1"): (Instrument.CELLO, "C2"),
    ("bass x2", "g1"): (Instrument.CELLO, "G2"),
    ("bass x2", "d2"): (Instrument.CELLO, "D3"),
    ("bass x2", "a2"): (Instrument.CELLO, "A3"),
}


def read(note, limits=None) -> list[Reading]:
    tracker = PitchTracker(note.rate, *(limits or note.range))
    sound, block = note.sound, round(0.01 * note.rate)
    return [r for start in range(0, sound.size, block) for r in tracker.feed(sound[start : start + block])]


@pytest.fixture(scope="module")
def heard(recorded):
    """Every second note that is reported, with all that is said of its first second and a half."""
    from tests.bench.recorded_notes import notes  # noqa: PLC0415 - needs soundfile and scipy

    found = {name: notes(recorded, name, reported=True, every=2) for name in SETS}
    assert min(map(len, found.values())) >= 8
    return {name: [(note, read(note)) for note in batch] for name, batch in found.items()}


@pytest.mark.heavy
@pytest.mark.parametrize("name", SETS)
def test_every_recorded_pluck_is_heard_and_none_as_another_note(heard, name):
    silent = [note.name for note, said in heard[name] if not said]
    wrong = [
        (note.name, round(r.time_s - note.onset_s, 2), round(r.frequency_hz, 1))
        for note, said in heard[name]
        for r in said
        if abs(cents(r.frequency_hz, note.truth.frequency_hz)) > WRONG_CENTS
        and r.time_s < note.sound.size / note.rate - FADED_S
    ]
    assert not silent
    assert not wrong


@pytest.mark.heavy
@pytest.mark.parametrize(("name", "by_s"), [("guitar", 0.3), ("bass x4", 0.2), ("bass x2", 0.35)])
def test_a_recorded_pluck_is_answered_soon(heard, name, by_s):
    late = [n.name for n, said in heard[name] if said and said[0].time_s - n.onset_s > by_s]
    assert len(late) <= 0.1 * len(heard[name]), late


@pytest.mark.heavy
@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("moment_s", [0.3, 0.6])
def test_the_error_that_is_stated_holds_on_recorded_plucks(heard, name, moment_s):
    """Two stated errors, and the truth's own 1.5 cents, hold 80 of 100 at least; normally 95 (tables)."""
    size = []
    for note, said in heard[name]:
        before = [r for r in said if r.time_s - note.onset_s <= moment_s]
        if before:
            off = cents(before[-1].frequency_hz, note.truth.frequency_hz)
            size.append(abs(off) / math.hypot(before[-1].std_error_cents, TRUTH_CENTS))
    assert len(size) >= 4
    assert float(np.mean(np.array(size) < 2.0)) >= 0.8


@pytest.mark.heavy
def test_a_recording_of_open_strings_names_every_string(recorded):
    from tests.bench.recorded_notes import notes  # noqa: PLC0415 - needs soundfile and scipy

    met: Counter[str] = Counter()
    for (name, start), (instrument, string) in OPEN.items():
        settings = replace(Settings(), instrument=instrument)
        for note in notes(recorded, name, reported=True):
            if note.name.startswith(start + "_"):
                reports = list(sounding_reports(read(note, settings.tracking_range), settings))
                assert reports, f"{note.name} of {name}: nothing heard"
                assert {report.heard for report in reports} == {string}, note.name
                met[string] += 1
    assert len(met) == len(OPEN)
    assert min(met.values()) >= 2
