"""The demo in a real pseudo-terminal, and what a command does where its words cannot go."""

import os
import re
import signal
import subprocess
import sys
import termios

import pytest
from PIL import Image

from demo.terminal import screenful
from device.__main__ import COMMANDS
from dsp import Hz, Seconds
from dsp.synthesis import pluck
from tests.terminals import DEMO, LEFT, ROOT, TAKEN, Terminal, assert_put_back

KEYS = "keys: p previous"
PANEL = Image.new("1", (128, 64), 1)
LONG = "  12.3 s  the box: A4. -21.3 cents. " + "Tighten the fine tuner of the A string by a little. " * 2


@pytest.fixture
def opened():
    """Opens terminals, and closes them all at the end."""
    terminals = []

    def one(*args, **environment):
        terminals.append(Terminal(*args, **environment))
        return terminals[-1]

    yield one
    for terminal in terminals:
        terminal.close()


def test_the_panel_is_drawn_and_q_leaves_the_terminal_as_it_was(opened):
    terminal = opened()
    terminal.read_until(KEYS)
    assert any(0x2800 < ord(c) < 0x2900 for c in terminal.seen), "no dots drawn"
    terminal.type("q")
    assert terminal.ended() == 0
    assert "before         after" in terminal.seen
    assert_put_back(terminal)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_whatever_ends_it_the_terminal_is_left_as_it_was(opened, number):
    terminal = opened()
    terminal.read_until(KEYS)
    terminal.process.send_signal(number)
    assert terminal.ended() == 128 + number
    assert "Traceback" not in terminal.seen
    assert_put_back(terminal)


def test_ctrl_z_gives_the_shell_its_terminal_and_fg_brings_the_panel_and_its_keys_back(opened):
    shell = opened(["/bin/bash", "--norc", "--noprofile", "-i"], PS1="ready> ")
    shell.read_until("ready> ")
    shell.type(" ".join(DEMO) + "\n")
    shell.read_until(KEYS)
    shell.forget()
    shell.type("\x1a")  # ctrl-Z
    shell.read_until("ready> ")
    assert LEFT in shell.forget()
    shell.type("stty -a\n")
    shell.read_until("isig")
    assert re.search(r" icanon", shell.seen), "the shell has the modes of the panel"
    shell.read_until("ready> ")
    shell.forget()
    shell.type("fg\n")
    shell.read_until(TAKEN)
    shell.read_until(KEYS)
    shell.forget()
    shell.type("q")
    shell.read_until("before         after")
    assert LEFT in shell.seen
    shell.read_until("ready> ")
    shell.type("exit 0\n")
    assert shell.ended() == 0


def test_stopped_from_outside_it_goes_on_with_its_keys(opened):
    """SIGSTOP cannot be met; what is broken by then is mended on SIGCONT."""
    terminal = opened()
    terminal.read_until(KEYS)
    terminal.process.send_signal(signal.SIGSTOP)
    os.waitid(os.P_PID, terminal.process.pid, os.WSTOPPED | os.WNOWAIT)
    termios.tcsetattr(terminal.theirs, termios.TCSANOW, terminal.before)
    terminal.forget()
    terminal.process.send_signal(signal.SIGCONT)
    terminal.read_until(KEYS)
    terminal.type("q")
    assert terminal.ended() == 0
    assert_put_back(terminal)


@pytest.mark.parametrize(
    ("columns", "rows", "wide"), [(200, 50, 130), (130, 40, 66), (80, 24, 66), (60, 24, 34), (40, 24, 34)]
)
def test_a_narrow_window_shows_the_panel_smaller(opened, columns, rows, wide):
    terminal = opened(DEMO, columns, rows)
    terminal.read_until("└")
    terminal.type("q")
    assert terminal.ended() == 0
    frame = re.search("┌(─+)┐", terminal.seen)
    assert frame
    assert len(frame.group()) == wide


def test_a_window_too_small_for_any_panel_says_so(opened):
    terminal = opened(DEMO, 32, 10)
    terminal.read_until("needs a window of")
    terminal.type("q")
    assert terminal.ended() == 0


@pytest.mark.parametrize("encoding", ["ascii", "latin-1"])
def test_a_poor_character_set_draws_with_what_it_has(opened, encoding):
    terminal = opened(PYTHONIOENCODING=encoding)
    terminal.read_until("#")
    terminal.type("q")
    assert terminal.ended() == 0
    assert "Traceback" not in terminal.seen
    assert "+" + 64 * "-" + "+" in terminal.seen
    assert_put_back(terminal)


@pytest.mark.parametrize("columns", [129, 79, 59, 39, 33, 12])
@pytest.mark.parametrize("rows", [39, 23, 12, 4])
def test_no_line_is_wider_or_lower_than_the_window(columns, rows):
    lines = screenful(PANEL, (LONG, LONG), columns, rows)
    assert len(lines) <= rows
    assert max(map(len, lines)) <= columns
    assert lines


def test_a_sentence_is_never_cut():
    """At 79 columns both of the latest sentences stand there whole."""
    shown = " ".join(screenful(PANEL, (LONG, LONG), 79, 23))
    assert " ".join(shown.split()).count(" ".join(LONG.split())) == 2


def run(words, shell_redirection, **environment):
    """A command under a shell that redirects its output."""
    command = f"exec {sys.executable} -m device {words} {shell_redirection}"
    return subprocess.run(
        ["/bin/sh", "-c", command],
        cwd=ROOT, capture_output=True, text=True, timeout=120, check=False, env={**os.environ, **environment},
    )  # fmt: skip


@pytest.fixture(scope="module")
def short(tmp_path_factory):
    """A recording of one pluck, so that a demo is over soon."""
    soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")
    path = tmp_path_factory.mktemp("short") / "e.wav"
    soundfile.write(path, pluck(Hz(655.0), Seconds(0.6), 8000), 8000)
    return path


@pytest.mark.parametrize("words", ["--help", "listen tests/data/no-such.wav", "demo --fast --wav {short}"])
@pytest.mark.parametrize("where", [">/dev/full", ">&-", ">&- 2>&-", "2>/dev/full"])
def test_where_the_words_cannot_go_there_is_no_traceback(words, where, short):
    if not os.path.exists("/dev/full"):  # noqa: PTH110 - a device
        pytest.skip("this system has no /dev/full")
    done = run(words.format(short=short), where)
    assert "Traceback" not in done.stderr
    assert "Exception" not in done.stderr
    assert done.returncode in {0, 1}


def test_a_full_disk_is_said_and_is_a_failure():
    done = run("--help", ">/dev/full")
    assert done.returncode == 1
    assert done.stderr == "wallpeg: the output cannot be written: No space left on device\n"


@pytest.mark.parametrize("command", COMMANDS)
def test_a_poor_character_set_is_no_reason_for_a_traceback(command):
    done = run(f"{command} --help", "", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert done.stderr == ""
    assert done.stdout.isascii()


def test_a_name_that_the_character_set_lacks_is_spelled_out():
    done = run("listen stra\u00dfe.wav", "", PYTHONIOENCODING="ascii")
    assert done.returncode == 1
    assert "stra\\xdfe.wav cannot be read" in done.stderr
