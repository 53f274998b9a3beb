"""Recorded strings from Debian's sound fonts: right string, right octave, and shifts to a cent.

FluidR3_GM (package fluid-soundfont-gm) and MuseScore_General_Full (musescore-general-soundfont),
played by fluidsynth; bank 0, General MIDI programs counted from 0. Program 45, "Pizzicato Strings",
is a section, several players at once: there the tests claim strings, not cents. Programs 24, 46 and
32 are single plucked strings.
"""

from functools import lru_cache
from importlib.util import find_spec

import numpy as np
import pytest
from _pytest.mark import ParameterSet

from device.sounding_reports import combined
from dsp import (
    OPEN_STRINGS,
    Cents,
    Hz,
    Instrument,
    OpenString,
    PitchTracker,
    Reading,
    Samples,
    cents,
    shifted,
    string_frequencies,
    tracking_range,
)

if find_spec("soundfile") is None:
    pytest.skip("soundfile is not installed, so no sound font can be read", allow_module_level=True)

from dsp.reading import Signal
from tests import sound_fonts
from tests.bench.peers import praat
from tests.each import each

REASON = sound_fonts.missing()
pytestmark = [
    pytest.mark.heavy,
    pytest.mark.skipif(REASON is not None, reason=f"{REASON}, so recorded notes cannot be played"),
]

RATE = sound_fonts.RATE
BLOCK = 480
SINGLE = {
    24: ("gut string", Instrument.VIOLIN),
    46: ("harp", Instrument.VIOLIN),
    32: ("plucked bass", Instrument.DOUBLE_BASS),
}
SECTIONS = [
    pytest.param(
        package, sound_fonts.PIZZICATO, instrument, string, id=f"{package}-{instrument.value}-{string.name}"
    )
    for package in sound_fonts.FONTS
    for instrument in Instrument
    for string in OPEN_STRINGS[instrument]
]
SINGLE_STRINGS = [
    pytest.param(package, program, instrument, string, id=f"{package}-{label}-{string.name}")
    for package in sound_fonts.FONTS
    for program, (label, instrument) in SINGLE.items()
    for string in OPEN_STRINGS[instrument]
]


def missing(cases: list[ParameterSet], reasons: dict[str, str]) -> list[ParameterSet]:
    """The cases, those with a reason marked as not reached yet: each must be unmarked once it is."""
    marks = {name: pytest.mark.xfail(strict=True, reason=reason) for name, reason in reasons.items()}
    assert marks.keys() <= {case.id for case in cases}
    return [
        pytest.param(*one.values, id=one.id, marks=marks[one.id]) if one.id in marks else one for one in cases
    ]


MUSESCORE, FLUID = "musescore-general-soundfont", "fluid-soundfont-gm"
RISES = "this note rises where plucks sink: its first readings lie 16 cents flat, with 7 stated"
SPIKE = "one reading of fifty, at 0.3 s, lies 16 cents flat, with 6 stated"
COLUMNS = ("package", "program", "instrument", "string")
SHIFTS = (-37.3, 4.9, 48.6)  # cents
RE_PITCHED_CENTS = 1.5  # by which two readings of a note may differ, whatever they state
STATED_CENTS = (
    2.0  # three of them for two readings are 8.5: a string whose partials scatter states 1.5 at least
)
SWELLS = ("plucked bass", "G2")  # it grows as under a bow, so that it states the error of what may be a voice
MAY_BE_A_VOICE_CENTS = 6.0


def test_all_open_strings_of_both_fonts_are_there():
    assert len(SECTIONS) == 2 * 16
    assert len(SINGLE_STRINGS) == 2 * 12


@lru_cache(maxsize=16)
def recorded(package: str, program: int, instrument: Instrument) -> dict[int, Samples]:
    keys = [string.note_number for string in OPEN_STRINGS[instrument]]
    return sound_fonts.notes(sound_fonts.FONTS[package], program, keys)


def note(package: str, program: int, instrument: Instrument, string: OpenString) -> Samples:
    """Half a second of silence, then the string as the font has it, two seconds held."""
    return recorded(package, program, instrument)[string.note_number]


def heard(sound: Samples, instrument: Instrument) -> list[Reading]:
    limits = tracking_range(string_frequencies(OPEN_STRINGS[instrument], Hz(440.0)))
    tracker = PitchTracker(RATE, *limits)
    return [r for start in range(0, sound.size, BLOCK) for r in tracker.feed(sound[start : start + BLOCK])]


def resampled(sound: Samples, by: Cents) -> Samples:
    """The sound played faster, so `by` cents higher: read between samples by its Fourier series."""
    size = 1 << (sound.size - 1).bit_length()
    padded = np.fft.irfft(np.fft.rfft(sound, size), 8 * size) * 8  # eight times the rate, no energy added
    snapshots = np.arange(0.0, sound.size - 1.0, 2.0 ** (by / 1200.0)) * 8
    return np.interp(snapshots, np.arange(padded.size), padded).astype(np.float32)


def open_frequency(instrument: Instrument, string: OpenString) -> Hz:
    strings = OPEN_STRINGS[instrument]
    return string_frequencies(strings, Hz(440.0))[strings.index(string)]


def cents_off(said: list[Reading], instrument: Instrument, string: OpenString) -> list[float]:
    return [round(cents(r.frequency_hz, open_frequency(instrument, string)), 1) for r in said]


@pytest.mark.parametrize(
    COLUMNS,
    missing(
        SINGLE_STRINGS,
        {
            f"{FLUID}-harp-A4": SPIKE,
            f"{FLUID}-plucked bass-G2": RISES,
            f"{MUSESCORE}-plucked bass-G2": RISES,
        },
    ),
)
def test_a_recorded_string_is_heard_within_15_cents(package, program, instrument, string):
    said = heard(note(package, program, instrument, string), instrument)
    off = cents_off(said, instrument, string)
    assert off, "no reading at all"
    assert max(map(abs, off)) < 15.0, f"cents off: {off}"


@pytest.mark.parametrize(COLUMNS, SECTIONS)
def test_a_recorded_section_is_never_heard_as_another_string_or_octave(package, program, instrument, string):
    said = heard(note(package, program, instrument, string), instrument)
    off = cents_off(said, instrument, string)
    assert max(map(abs, off), default=0.0) < 50.0, f"cents off: {off}"


@pytest.mark.parametrize(COLUMNS, SECTIONS)
def test_a_recorded_section_is_heard(package, program, instrument, string):
    assert heard(note(package, program, instrument, string), instrument)


PEERS = ("librosa", "parselmouth")
UNSTEADY = 50.0  # cents between the quartiles of a peer's own course, from which on it follows no pitch


@pytest.mark.filterwarnings("ignore")  # librosa's own, and its libraries'
@pytest.mark.skipif(not all(map(find_spec, PEERS)), reason="librosa or parselmouth is missing (extra: bench)")
@pytest.mark.parametrize(
    COLUMNS,
    [*SINGLE_STRINGS, *SECTIONS],
)
def test_a_peer_given_the_string_within_a_fifth_hears_the_same(package, program, instrument, string):
    """pYIN, or Praat's autocorrelation where pYIN's own course runs about: by 200 cents on one section."""
    sound, target = note(package, program, instrument, string), open_frequency(instrument, string)
    said = [r for r in heard(sound, instrument) if 0.55 <= r.time_s <= 1.3]
    if not said:
        pytest.skip("no reading to compare")
    piece = sound[round(0.55 * RATE) : round(1.3 * RATE)]
    low, high = shifted(target, Cents(-702.0)), shifted(target, Cents(702.0))
    ours = Hz(float(np.median([r.frequency_hz for r in said])))
    course = pyin(piece, low, high)
    runs = 1200.0 * float(np.subtract(*np.log2(np.percentile(course, [75.0, 25.0])))) > UNSTEADY
    theirs = praat(piece, RATE, low, high) if runs else float(np.median(course))
    assert theirs is not None, "neither peer hears a pitch"
    assert abs(cents(ours, Hz(theirs))) < 25.0


def pyin(piece: Samples, low: Hz, high: Hz) -> Signal:
    """Mauch & Dixon, pYIN, ICASSP 2014, as in librosa; its own grid is 10 cents and sections are wider."""
    import librosa  # noqa: PLC0415 - optional

    frame = 1 << (int(4.0 * RATE / low) - 1).bit_length()
    range_hz = {"fmin": low, "fmax": high}
    return librosa.pyin(piece, **range_hz, sr=RATE, frame_length=frame, hop_length=BLOCK, fill_na=None)[0]


@pytest.mark.parametrize(COLUMNS, SINGLE_STRINGS)
def test_a_string_re_pitched_by_known_cents_is_heard_shifted_by_them(package, program, instrument, string):
    """Whatever the two readings state, which is how far each may be from the string's pitch."""
    sound = note(package, program, instrument, string)
    first = reported(heard(sound, instrument))
    swells = (SINGLE[program][0], string.name) == SWELLS
    for shift in each(SHIFTS):
        second = reported(heard(resampled(sound, Cents(shift)), instrument))
        assert cents(second.frequency_hz, first.frequency_hz) == pytest.approx(shift, abs=RE_PITCHED_CENTS)
        stated = max(first.std_error_cents, second.std_error_cents)
        assert stated < (MAY_BE_A_VOICE_CENTS if swells else STATED_CENTS)


def reported(said: list[Reading]) -> Reading:
    """What `listen` reports of the first sounding."""
    assert said, "no reading at all"
    return combined(reading for reading in said if reading.pluck == said[0].pluck).reading
