"""The whole string family through `wallpeg listen`: synthetic plucks with published harmonics."""

import json

import numpy as np
import pytest

from device.__main__ import main
from dsp import OPEN_STRINGS, Cents, Hz, Instrument, OpenString, Seconds, shifted, string_frequencies
from dsp.synthesis.harmonics import PIZZICATO
from dsp.synthesis.manner import Manner, Swings
from dsp.synthesis.plucks import pluck
from tests.each import each

soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")

RATE = 48000
LEAD_S, LENGTH_S = 0.4, 2.0
OFF = Cents(-21.0)  # so far every string is off: its fine tuner, or a hair of a machine head
SINGLE = Manner(swings=Swings.SIDEWAYS, lead_s=Seconds(LEAD_S))


def concert(instrument, cut_below_hz=0.0, strings=None):
    """All strings one after the other, OFF cents from where they should be, in a quiet room."""
    strings = strings or OPEN_STRINGS[instrument]
    sounds = []
    for string, hz in zip(strings, string_frequencies(strings, Hz(440.0)), strict=True):
        harmonics = PIZZICATO[instrument].get(string.name)
        note = pluck(shifted(hz, OFF), Seconds(LENGTH_S), RATE, harmonics=harmonics, manner=SINGLE, seed=5)
        sounds.append(without_bass(note, cut_below_hz))
    sound = np.concatenate(sounds)
    return sound + np.random.default_rng(11).normal(0.0, 3e-4, len(sound)).astype(np.float32)


def without_bass(sound, corner_hz):
    """As a microphone that loses 24 dB an octave below `corner_hz` (Butterworth, fourth order)."""
    if corner_hz == 0.0:
        return sound
    spectrum = np.fft.rfft(sound, 2 * len(sound))
    s = 1j * np.fft.rfftfreq(2 * len(sound), 1 / RATE) / corner_hz
    response = s**4 / ((s**2 + 0.76537 * s + 1) * (s**2 + 1.84776 * s + 1))
    return np.fft.irfft(spectrum * response)[: len(sound)].astype(np.float32)


def listened(capsys, path, *flags):
    assert main(["listen", str(path), "--json", *flags]) == 0
    return [json.loads(line) for line in capsys.readouterr().out.splitlines()]


@pytest.mark.parametrize("cut_below_hz", [0.0, 150.0], ids=["whole", "no sound below 150 Hz"])
@pytest.mark.parametrize("instrument", Instrument)
def test_every_open_string_is_named_and_measured(tmp_path, capsys, instrument, cut_below_hz):
    path = tmp_path / "strings.wav"
    soundfile.write(path, concert(instrument, cut_below_hz), RATE, subtype="FLOAT")
    lines = listened(capsys, path, "--instrument", instrument.value)
    names = [string.name for string in OPEN_STRINGS[instrument]]
    assert [line["string"] for line in lines] == names
    assert [line["cents"] for line in lines] == [pytest.approx(OFF, abs=1.5)] * 4
    starts = [LEAD_S + i * LENGTH_S for i in range(4)]
    assert [line["time_s"] for line in lines] == [pytest.approx(start, abs=0.1) for start in starts]
    assert {line["direction"] for line in lines} == {"tighten"}


def test_a_double_bass_is_told_to_tighten_and_never_to_rotate(tmp_path, capsys):
    path = tmp_path / "bass.wav"
    soundfile.write(path, concert(Instrument.DOUBLE_BASS), RATE)
    for line in each(listened(capsys, path, "--instrument", "double-bass")):
        assert line["rotation"] is None
        assert line["turn"] != "fine-tuner"


def test_an_instrument_of_five_strings_comes_through_the_file(tmp_path, capsys):
    five = tuple(OpenString.named(name) for name in ("C3", "G3", "D4", "A4", "E5"))
    path, file = tmp_path / "five.wav", tmp_path / "wallpeg.toml"
    soundfile.write(path, concert(Instrument.VIOLA, strings=five), RATE)
    file.write_text('[settings]\ninstrument = "viola"\nretuned = ["C3", "G3", "D4", "A4", "E5"]\n')
    lines = listened(capsys, path, "--settings", str(file))
    assert [line["string"] for line in lines] == ["C3", "G3", "D4", "A4", "E5"]


def test_scordatura_changes_what_is_aimed_at(tmp_path, capsys):
    """A violin's G string up to A3: the same sound is now two semitones flat of nothing, but right."""
    strings = tuple(OpenString.named(name) for name in ("A3", "D4", "A4", "E5"))
    path = tmp_path / "retuned.wav"
    soundfile.write(path, concert(Instrument.VIOLIN, strings=strings), RATE)
    lines = listened(capsys, path, "--retuned", "A3,D4,A4,E5")
    assert [line["string"] for line in lines] == ["A3", "D4", "A4", "E5"]
    assert lines[0]["cents"] == pytest.approx(OFF, abs=1.5)


def test_pure_fifths_move_the_outer_strings_by_the_published_cents(tmp_path, capsys):
    # 3:2 = 701.955 cents against 700: D -2.0, G -3.9, E +2.0 (the design's facts of the trade)
    path = tmp_path / "violin.wav"
    soundfile.write(path, concert(Instrument.VIOLIN), RATE, subtype="FLOAT")
    equal, pure = (listened(capsys, path, "--temperament", t) for t in ("equal", "pure"))
    moved = [p["cents"] - e["cents"] for e, p in zip(equal, pure, strict=True)]
    assert moved == pytest.approx([3.91, 1.955, 0.0, -1.955], abs=0.02)


@pytest.mark.parametrize(
    ("name", "rate", "subtype"),
    [
        ("a.wav", 8000, "PCM_U8"),
        ("a.wav", 11025, "PCM_16"),
        ("a.flac", 44100, "PCM_24"),
        ("a.ogg", 48000, "VORBIS"),
        ("a.wav", 96000, "DOUBLE"),
        ("a.flac", 192000, "PCM_16"),
    ],
)
def test_the_same_string_reads_the_same_at_any_rate_in_any_format(tmp_path, capsys, name, rate, subtype):
    note = pluck(shifted(Hz(440.0), OFF), Seconds(1.5), rate, manner=SINGLE, seed=3)
    note += np.random.default_rng(4).normal(0.0, 3e-4, len(note)).astype(np.float32)
    path = tmp_path / name
    soundfile.write(path, np.stack([note, note], axis=1), rate, subtype=subtype)
    (line,) = listened(capsys, path)
    assert line["string"] == "A4"
    assert line["cents"] == pytest.approx(OFF, abs=0.5)
