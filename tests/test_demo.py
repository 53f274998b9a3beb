"""`wallpeg demo`: the whole chain on stand-ins, to its end; and every refusal."""

import re
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest
from PIL import Image

from demo.pictures import ENLARGED
from device.__main__ import main
from dsp import Cents, Hz, Seconds, shifted
from dsp.synthesis import pluck
from tests import sound_server

ROOT = Path(__file__).parent.parent
SHORT = ["demo", "--fast"]


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A folder for what the one whole demo of these tests keeps."""
    return tmp_path_factory.mktemp("kept")


@pytest.fixture(scope="module")
def told(kept):
    """One whole fast demo with its pictures: what it printed."""
    keeping = ["--pictures", str(kept / "pictures"), "--animation", str(kept / "moving.gif")]
    done = subprocess.run(
        [sys.executable, "-m", "device", *SHORT, *keeping],
        cwd=ROOT, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert done.stderr == ""
    assert done.returncode == 0
    return done.stdout.splitlines()


def test_each_event_is_a_plain_line_with_its_time(told):
    events = told[1:-6]
    assert all(re.match(r" *\d+\.\d s  (the (box|player|peg)|a string)", line) for line in events)
    assert any("the player plucks A4" in line for line in events)
    assert any("the box: A4." in line and "cents" in line for line in events)


def test_it_ends_with_a_table_of_string_before_after_plucks(told):
    assert told[-5].split() == ["string", "before", "after", "plucks"]
    rows = [line.split() for line in told[-4:]]
    assert [row[0] for row in rows] == ["G3", "D4", "A4", "E5"]
    assert all(int(row[-1]) >= 1 for row in rows)


def test_the_player_ends_in_tune(told):
    rows = [line.split() for line in told[-4:]]
    before = sorted(abs(float(row[1])) for row in rows)
    after = sorted(abs(float(row[3])) for row in rows)
    assert before[0] > 8.0
    assert after[-1] <= 8.0


@pytest.mark.heavy
def test_the_same_seed_tells_the_same_story(told, capsys):
    assert main(SHORT) == 0
    again = capsys.readouterr().out.splitlines()
    assert again == [line for line in told if "pictures are in" not in line]


def test_every_picture_is_kept_and_can_be_played(told, kept):
    folder, moving = kept / "pictures", kept / "moving.gif"
    count = int(re.search(r"(\d+) pictures", "\n".join(told)).group(1))
    true_size = sorted(p for p in folder.iterdir() if f"-x{ENLARGED}" not in p.name)
    assert len(true_size) == count >= 8
    for path in true_size:
        with Image.open(path) as small, Image.open(path.with_stem(f"{path.stem}-x{ENLARGED}")) as large:
            assert small.size == (128, 64)
            assert large.size == (128 * ENLARGED, 64 * ENLARGED)
            assert large.resize(small.size, Image.Resampling.NEAREST).tobytes() == small.tobytes()
    with Image.open(moving) as film:
        assert film.n_frames == count


def test_a_recording_can_be_played_to_the_box(tmp_path, capsys):
    soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")
    recording = tmp_path / "e.wav"
    soundfile.write(recording, pluck(655.0, 3.0, 44100), 44100)
    assert main([*SHORT, "--wav", str(recording)]) == 0
    out = capsys.readouterr().out
    assert "a string sounds" in out
    row = next(line.split() for line in out.splitlines() if line.startswith("E5"))
    assert float(row[1]) == pytest.approx(-11.2, abs=1.5)  # 655 Hz under E5's 659.26
    assert row[-1] == "1"


@pytest.mark.parametrize(
    ("words", "status", "sentence"),
    [
        (["--animation", "x.avi"], 1, "must end in .gif or .png"),
        (["--animation", "no-such-folder/x.gif"], 1, "there is no folder no-such-folder; make it first"),
        (["--pictures", "/dev/null/x"], 1, "cannot be kept in /dev/null/x"),
        (["--wav", "/no/such.wav"], 1, "/no/such.wav cannot be read"),
        (["--microphone", "--fast"], 2, "leave out --fast"),
        (["--retuned", "G3,D4,A4,A5"], 2, "a lower note or another string"),
        (["--pupil", "nobody"], 2, "wanda"),
        (["--seed", "x"], 2, "--seed"),
    ],
)
def test_bad_input_is_refused_in_one_line(words, status, sentence, capsys):
    assert main(["demo", *words]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1


def test_without_portaudio_the_live_microphone_says_what_to_install(monkeypatch, capsys):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    assert main(["demo", "--microphone"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert "install" in err


@pytest.fixture
def sound(tmp_path):
    """A sound server of our own, with one virtual microphone that is heard through PortAudio."""
    pytest.importorskip("sounddevice", reason="the sound library is not installed", exc_type=OSError)
    if sound_server.MISSING:
        pytest.skip(f"not installed: {sound_server.MISSING}")
    server = sound_server.SoundServer(tmp_path)
    yield server
    server.stop()


@pytest.mark.heavy
def test_a_live_microphone_is_heard(sound):
    """Plucks of what the box asks for, the E 20 cents flat, come out as a line with its cents."""
    lines = []
    with subprocess.Popen(
        [sys.executable, "-m", "device", "demo", "--microphone", "wallmic"],
        cwd=ROOT, env=sound.environment, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    ) as live:  # fmt: skip
        reader = threading.Thread(target=lambda: lines.extend(live.stdout))
        reader.start()
        try:
            for _ in range(20):  # four will do; more on a busy machine, where sound that came late is dropped
                sound.play(pluck(OPEN[asked_in(lines)], Seconds(6.0), sound_server.RATE))
                time.sleep(3.0)
                if any("Tighten" in line for line in lines):
                    break
            live.send_signal(signal.SIGINT)
            assert live.wait(60) == 130  # -11 here was the sound library's crash at the end of Python
        finally:
            live.kill()
            reader.join()
    assert "Tighten the fine tuner of the E string" in "".join(lines)
    row = next(line.split() for line in lines if line.startswith("E5"))
    assert float(row[1]) == pytest.approx(-20.0, abs=4.0)  # the first reading, not settled yet


OPEN = {"G3": Hz(195.998), "D4": Hz(293.665), "A4": Hz(440.0), "E5": shifted(Hz(659.255), Cents(-20.0))}


def asked_in(lines: list[str]) -> str:
    """The string the box asked for last; the E to begin with."""
    asked = re.findall(r"the box: ([A-G]\d)\.", "".join(lines))
    return asked[-1] if asked else "E5"


def test_it_is_over_within_a_minute(told):
    """By its own clock, which is the wall's where it is not run fast."""
    last = [line for line in told if re.match(r" *\d+\.\d s  ", line)][-1]
    assert 10.0 < float(last.split()[0]) < 60.0


@pytest.mark.heavy
def test_in_real_time_it_ends_by_itself():
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-m", "device", "demo"], cwd=ROOT, capture_output=True, timeout=600, check=False
    )
    assert done.returncode == 0
    assert time.monotonic() - began > 10.0
