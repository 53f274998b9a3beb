"""`wallpeg listen FILE` sends a recording through the tracker and the lesson of the box.

It prints one line for every sounding: a table for people, or with `--json` one object a line for programs.
A file that is cut off or damaged is refused before anything is printed, because half an answer looks like a
whole one. The status is 0 when the file was read, even if nothing sounded, and 1 when it could not be read.
"""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path

from device.commands.options import add_settings, settings_of
from device.commands.pitch_picture import PitchPicture, refuse_unwritable
from device.commands.sounding_lines import TABLE_HEAD, heading, json_line, table_line
from device.config.settings import Settings
from device.errors import UsageError, nearest
from device.parts.recording import Recording, open_recording
from device.sounding_reports import sounding_reports
from dsp import PitchTracker, Reading, Seconds

LONG_S = Seconds(60.0)  # chosen: a shorter recording is read before anyone wonders
_EVERY_S = Seconds(30.0)  # of sound, between two words of progress


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of this command."""
    parser.add_argument("file", metavar="FILE", type=Path, help="a recording: WAV, FLAC or OGG, 8 to 192 kHz")
    parser.add_argument("--json", action="store_true", help="one JSON object a line for every sounding")
    parser.add_argument("--string", metavar="NAME", help="the string all plucks are meant for, as in A4")
    parser.add_argument("--picture", metavar="FILE.png", type=Path, help="draw pitch against time")
    add_settings(parser)


def main(arguments: argparse.Namespace) -> int:
    """Read the recording and say what sounded."""
    settings = settings_of(arguments)
    fixed = _string(arguments.string, settings)
    picture = _picture(arguments.picture, settings)
    progress = _Progress(arguments.file)
    recording = open_recording(arguments.file, progress.looked)
    progress.duration_s = recording.duration_s
    readings = _readings(recording, settings, progress, picture)
    count = 0
    for sounding in sounding_reports(readings, settings, fixed):
        count += 1
        progress.clear()
        if count == 1 and not arguments.json:
            print(heading(recording, settings), TABLE_HEAD, sep="\n")
        print(json_line(sounding) if arguments.json else table_line(sounding), flush=True)
        if picture is not None:
            picture.mark(sounding)
    progress.clear()
    if count == 0:
        print(_nothing(recording, settings), file=sys.stderr if arguments.json else sys.stdout)
    elif picture is not None:
        picture.write(arguments.picture, recording.duration_s)
    return 0


def _readings(
    recording: Recording, settings: Settings, progress: "_Progress", picture: PitchPicture | None
) -> Iterator[Reading]:
    """Every reading of the recording."""
    if recording.silent:
        return
    tracker = PitchTracker(recording.sample_rate_hz, *settings.tracking_range)
    fed = 0
    for block in recording.blocks():
        fed += len(block)
        for reading in tracker.feed(block):
            if picture is not None:
                picture.add(reading)
            yield reading
        progress.heard(Seconds(fed / recording.sample_rate_hz))


def _picture(path: Path | None, settings: Settings) -> PitchPicture | None:
    if path is None:
        return None
    refuse_unwritable(path)
    return PitchPicture(settings)


def _string(name: str | None, settings: Settings) -> str | None:
    if name is None or name in settings.targets:
        return name
    meant = nearest(name.upper(), settings.targets)
    works = f"did you mean {meant}?" if meant else f"there are {', '.join(settings.targets)}"
    raise UsageError(f"--string {name} is not one of the open strings that are set; {works}")


def _nothing(recording: Recording, settings: Settings) -> str:
    how = "is silent" if recording.silent else f"holds no sound of a {settings.instrument.value} string"
    return f"{recording.path} {how} ({recording.duration_s:.1f} s): nothing sounded."


class _Progress:
    """Words on stderr while a long recording is read, if somebody is looking."""

    def __init__(self, path: Path) -> None:
        self.duration_s: Seconds | None = None
        self._name = path.name
        self._shown = sys.stderr.isatty()
        self._next = LONG_S
        self._width = 0

    def looked(self, done: Seconds) -> None:
        """The first pass has come so far."""
        if self._due(done):
            self._say(f"{self._name}: looked at {done / 60:.0f} min")

    def heard(self, done: Seconds) -> None:
        """The second pass has come so far."""
        if self.duration_s is not None and self.duration_s >= LONG_S and self._due(done):
            self._say(f"{self._name}: heard {done / 60:.0f} of {self.duration_s / 60:.0f} min")

    def clear(self) -> None:
        """Take the words away."""
        if self._width:
            print(f"\r{' ' * self._width}\r", end="", file=sys.stderr, flush=True)
            self._width = 0

    def _due(self, done: Seconds) -> bool:
        if done < self._next - LONG_S:  # the second pass begins
            self._next = LONG_S
        if not self._shown or done < self._next:
            return False
        self._next = Seconds(done + _EVERY_S)
        return True

    def _say(self, words: str) -> None:
        print(f"\r{words:{self._width}}", end="", file=sys.stderr, flush=True)
        self._width = max(self._width, len(words))
