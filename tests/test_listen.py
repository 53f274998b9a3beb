"""`wallpeg listen`: a recording as a table, as JSON lines, as a picture; refusals in one line."""

import builtins
import io
import json
import sys

import numpy as np
import pytest
from PIL import Image

from device.__main__ import main
from device.commands import listen
from dsp import Reading

soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")

FIELDS = [  # the design fixes the names and their order
    *("pluck", "time_s", "string", "heard", "frequency_hz", "cents", "std_error_cents"),
    *("turn", "direction", "rotation", "amount", "in_tune", "warning", "advice"),
    "spread_cents",  # added since, so it comes last
]


class ToldTracker:
    """Gives a reading every tenth of a second; each second of the recording is a pluck of its own."""

    pitches = (437.9, 293.66, 900.0)

    def __init__(self, rate, lowest, highest):
        assert lowest < 196.0 / 2
        assert highest > 659.26 * 1.9
        self.rate, self.fed, self.told = rate, 0, 0

    def feed(self, samples):
        assert samples.dtype == np.float32
        self.fed += len(samples)
        found = []
        while (self.told + 1) * self.rate // 10 <= self.fed and self.told < 10 * len(self.pitches):
            self.told += 1
            pluck, tenth = divmod(self.told - 1, 10)
            hz = self.pitches[pluck]
            found.append(Reading(self.told / 10, hz, 0.4, 0.0, 0.0, -20.0, 0.1 * tenth, pluck + 1))
        return found


class DeafTracker(ToldTracker):
    pitches = ()


@pytest.fixture(autouse=True)
def told(monkeypatch):
    monkeypatch.setattr(listen, "PitchTracker", ToldTracker)


@pytest.fixture
def sound(tmp_path):
    path = tmp_path / "wall.wav"
    soundfile.write(path, np.random.default_rng(1).uniform(-0.1, 0.1, 3 * 16000), 16000)
    return path


def test_json_has_one_object_a_line_with_the_fields_that_were_agreed(sound, capsys):
    assert main(["listen", str(sound), "--json"]) == 0
    out, err = capsys.readouterr()
    lines = [json.loads(line) for line in out.splitlines()]
    assert [tuple(line) for line in lines] == [tuple(FIELDS)] * 3
    assert err == ""
    flat, right, nowhere = lines
    assert flat["string"] == flat["heard"] == "A4"
    assert flat["cents"] == pytest.approx(-8.28, abs=0.01)
    assert (flat["turn"], flat["direction"], flat["rotation"]) == ("fine-tuner", "tighten", "clockwise")
    assert (flat["amount"], flat["in_tune"], flat["warning"]) == ("a-little", False, None)
    assert right["in_tune"] is True
    assert (right["turn"], right["direction"], right["rotation"], right["amount"]) == (
        "none",
        "none",
        None,
        None,
    )
    assert (nowhere["string"], nowhere["heard"], nowhere["cents"]) == (None, "E5", None)


def test_people_get_a_table_that_says_how_the_file_was_read(sound, capsys):
    assert main(["listen", str(sound), "--reference-hz", "442"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].endswith("3.0 s at 16000 Hz, violin, A = 442 Hz, equal")
    assert len(lines) == 5
    assert "-16.1" in lines[2]  # 437.9 Hz against 442 Hz


def test_the_string_can_be_fixed(sound, capsys):
    assert main(["listen", str(sound), "--json", "--string", "A4"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [line["string"] for line in lines] == ["A4"] * 3
    assert [line["turn"] for line in lines] == ["fine-tuner", "none", "none"]


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            ["--string", "F4"],
            "--string F4 is not one of the open strings that are set; did you mean D4?",
        ),
        (["--reference-hz", "44"], "--reference-hz 44 is outside 380 to 480 Hz; did you mean 440?"),
        (
            ["--instrument", "fiddle"],
            "--instrument fiddle is not one of violin, viola, cello or double-bass",
        ),
        (["--refrence-hz", "440"], "--refrence-hz is not known here; did you mean --reference-hz?"),
        (["--picture", "x.bmp"], "--picture x.bmp is not the name of a PNG file; x.png works"),
        (["--settings", "nowhere.toml"], "the settings file nowhere.toml cannot be read: No such file"),
    ],
)
def test_a_wrong_flag_is_one_line_and_status_2(sound, capsys, words, sentence):
    assert main(["listen", str(sound), *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("json_too", [[], ["--json"]])
def test_a_file_that_cannot_be_read_is_one_line_and_status_1(tmp_path, capsys, json_too):
    (tmp_path / "words.wav").write_text("only words\n" * 100)
    for name in ("words.wav", "missing.wav", "."):
        assert main(["listen", str(tmp_path / name), *json_too]) == 1
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith("wallpeg listen: ")
        assert err.count("\n") == 1


@pytest.mark.parametrize(("level", "said"), [(0.0, "is silent"), (0.1, "holds no sound of a violin string")])
def test_a_file_in_which_nothing_sounds_is_done_and_says_so(tmp_path, capsys, monkeypatch, level, said):
    monkeypatch.setattr(listen, "PitchTracker", DeafTracker)
    path = tmp_path / "still.wav"
    soundfile.write(path, np.full(16000, level), 16000)
    assert main(["listen", str(path)]) == 0
    out, err = capsys.readouterr()
    assert out == f"{path} {said} (1.0 s): nothing sounded.\n"
    assert err == ""
    assert main(["listen", str(path), "--json"]) == 0
    assert capsys.readouterr() == ("", out)


def test_a_settings_file_counts_and_a_flag_wins_over_it(sound, tmp_path, capsys):
    (tmp_path / "box.toml").write_text('[settings]\nreference_hz = 442\nsize = "huge"\n[panel]\n')
    settings = ["--settings", str(tmp_path / "box.toml")]
    assert main(["listen", str(sound), "--json", *settings]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out.splitlines()[0])["cents"] == pytest.approx(-16.13, abs=0.01)
    assert 'size = "huge" is not one of' in err
    assert main(["listen", str(sound), "--json", *settings, "--reference-hz", "440"]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[0])["cents"] == pytest.approx(-8.28, abs=0.01)


def test_a_picture_is_written_whole(sound, tmp_path, capsys):
    pytest.importorskip("matplotlib", reason="draws the picture: pip install 'wallpeg[picture]'")
    path = tmp_path / "pitch.png"
    assert main(["listen", str(sound), "--picture", str(path)]) == 0
    with Image.open(path) as picture:
        picture.load()
        assert picture.format == "PNG"
        assert min(picture.convert("L").tobytes()) < 50  # something is drawn
    assert sorted(p.name for p in tmp_path.iterdir()) == ["pitch.png", "wall.wav"]
    capsys.readouterr()


def test_a_picture_that_cannot_be_written_is_refused_before_anything_is_read(sound, tmp_path, capsys):
    pytest.importorskip("matplotlib", reason="draws the picture: pip install 'wallpeg[picture]'")
    assert main(["listen", str(sound), "--picture", str(tmp_path / "no" / "pitch.png")]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "cannot be written: there is no folder" in err


def test_without_matplotlib_one_sentence_says_how_to_get_it(sound, capsys, monkeypatch):
    real = builtins.__import__

    def without(name, *args, **kwargs):
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *args, **kwargs)

    monkeypatch.setattr(builtins, "__import__", without)
    assert main(["listen", str(sound), "--picture", "x.png"]) == 1
    assert "pip install 'wallpeg[picture]'" in capsys.readouterr().err


class Terminal(io.StringIO):
    def isatty(self):
        return True


def test_a_long_recording_shows_progress_on_a_terminal_only(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(listen, "PitchTracker", DeafTracker)
    path = tmp_path / "long.wav"
    soundfile.write(path, np.full(8000 * 100, 0.1), 8000)
    terminal = Terminal()
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stderr", terminal)
        assert main(["listen", str(path)]) == 0
    said = [words.strip() for words in terminal.getvalue().split("\r") if words.strip()]
    assert said == [
        "long.wav: looked at 1 min",
        "long.wav: looked at 2 min",
        "long.wav: heard 1 of 2 min",
        "long.wav: heard 2 of 2 min",
    ]
    capsys.readouterr()
    assert main(["listen", str(path)]) == 0
    assert capsys.readouterr().err == ""


def test_a_short_recording_needs_no_progress():
    assert listen.LONG_S >= 30.0
