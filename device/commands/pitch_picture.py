"""Draws a recording: pitch against time, the open strings as lines, every pluck marked."""

import io
import os
import tempfile
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from device.config.settings import Settings
from device.errors import RecordingError, UsageError
from device.sounding_reports import SoundingReport
from dsp import Hz, Reading, Seconds

_STEP_S = Seconds(0.05)  # chosen: an hour is 72,000 points
_MARGIN = 1.26  # the picture reaches four semitones past the outer strings


@dataclass(frozen=True, slots=True)
class _Point:
    pluck: int
    time_s: Seconds
    hz: Hz


class PitchPicture:
    """Gathers points while the recording is read, and draws them at the end."""

    def __init__(self, settings: Settings) -> None:
        self._settings = settings
        self._points: list[_Point] = []
        self._soundings: list[SoundingReport] = []

    def add(self, reading: Reading) -> None:
        """Keep a reading, if it is not too near to the one before."""
        last = self._points[-1] if self._points else None
        if last is None or last.pluck != reading.pluck or reading.time_s - last.time_s >= _STEP_S:
            hz = self._settings.corrected(reading.frequency_hz)
            self._points.append(_Point(reading.pluck, reading.time_s, hz))

    def mark(self, sounding: SoundingReport) -> None:
        """Mark a pluck."""
        self._soundings.append(sounding)

    def write(self, path: Path, duration_s: Seconds) -> None:
        """Write the picture as PNG, whole or not at all; raises RecordingError if that fails."""
        data = io.BytesIO()
        self._drawn(duration_s).savefig(data, format="png", dpi=120)
        try:
            with tempfile.NamedTemporaryFile(dir=path.parent, prefix=f".{path.name}.", delete=False) as file:
                unfinished = Path(file.name)
                try:
                    file.write(data.getvalue())
                    file.close()
                    unfinished.chmod(0o644)
                    os.replace(unfinished, path)  # noqa: PTH105 - the same, and says what it does
                except OSError:
                    unfinished.unlink(missing_ok=True)
                    raise
        except OSError as error:
            raise RecordingError(f"the picture {path} cannot be written: {error.strerror}") from error

    def _drawn(self, duration_s: Seconds) -> Any:
        figure = _matplotlib_figure()(figsize=(10, 5), layout="constrained")
        axes = figure.add_subplot()
        strings = self._settings.targets
        for hz in strings.values():
            axes.axhline(hz, color="0.6", linewidth=0.8)
        for sounding in self._soundings:
            axes.axvline(sounding.time_s, color="0.85", linewidth=0.8)
            axes.plot(sounding.time_s, sounding.frequency_hz, "kv", markersize=5)
        axes.plot(*self._joined(), color="black", linewidth=1.2, marker=".", markersize=2)
        pitches = [*strings.values(), *(point.hz for point in self._points)]
        axes.set_yscale("log")
        axes.set_ylim(min(pitches) / _MARGIN, max(pitches) * _MARGIN)
        axes.set_xlim(0.0, duration_s)
        axes.set_xlabel("time in s; a triangle marks a pluck")
        axes.set_ylabel("open strings and where they should sound")
        axes.set_yticks(list(strings.values()), [f"{name}  {hz:.1f} Hz" for name, hz in strings.items()])
        axes.tick_params(axis="y", which="minor", left=False, labelleft=False)
        return figure

    def _joined(self) -> tuple[list[float], list[float]]:
        """The points as a line that breaks at every pluck."""
        times: list[float] = []
        pitches: list[float] = []
        for _pluck, group in groupby(self._points, key=lambda point: point.pluck):
            points = list(group)
            times += [*(point.time_s for point in points), points[-1].time_s]
            pitches += [*(point.hz for point in points), float("nan")]
        return times, pitches


def refuse_unwritable(path: Path) -> None:
    """Refuse, before an hour is read, where no picture can be drawn or written.

    Raises UsageError for a name that is not that of a PNG file, else RecordingError.
    """
    if path.suffix.lower() != ".png":
        works = path.with_suffix(".png") if path.name else "pitch.png"
        raise UsageError(f"--picture {path} is not the name of a PNG file; {works} works")
    _matplotlib_figure()
    if path.is_dir():
        raise RecordingError(f"the picture {path} cannot be written: it is a folder")
    if not path.parent.is_dir():
        raise RecordingError(f"the picture {path} cannot be written: there is no folder {path.parent}")
    if not os.access(path.parent, os.W_OK):
        raise RecordingError(f"the picture {path} cannot be written: {path.parent} may not be written to")


def _matplotlib_figure() -> Any:
    try:
        from matplotlib.figure import Figure  # noqa: PLC0415 - an extra, only for a picture
    except ImportError as error:
        raise RecordingError(
            "a picture needs the library matplotlib; install it with: pip install 'wallpeg[picture]'"
        ) from error
    return Figure
