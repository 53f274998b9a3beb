"""A sound file, opened and read in frames through the library soundfile, with its refusals in words.

The library reads a cut-off WAV, AIFF or OGG in silence, as if it had been made so short. A WAV
declares how long it is, and the last page of a whole OGG stream is marked as the last (RFC 3533):
both are looked at here before a frame is read.
"""

import os
import re
import stat
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from device.errors import RecordingError

SoundFrames = npt.NDArray[np.float64]
"""Sound of all channels, shape (n, channels), full scale = 1."""

BLOCK_S = 0.1  # chosen: short beside a pluck, long beside the cost of a call
_UNKNOWN_LENGTH = 0x7FFF_0000  # bytes; programs that cannot know the length declare more than this
_UNKNOWN_FRAMES = 2**62
_DECLARED = re.compile(r"^\s*(?:data|SSND|Riff size)\s*: (\d+) \(should be (\d+)\)", re.MULTILINE)
_OGG_PAGE, _OGG_LAST = b"OggS", 0x04  # RFC 3533: capture pattern, and the flag of a stream's last page
_OGG_HEADER, _OGG_LONGEST_PAGE = 27, 65_307  # bytes, RFC 3533


def open_sound(path: Path) -> Any:
    """The library's own object for a file that was looked at; close it, or use `with`.

    Raises RecordingError where there is no such file, it is no sound file or cut off, and where
    soundfile is not installed.
    """
    try:
        import soundfile  # noqa: PLC0415 - only here is it needed
    except (ImportError, OSError) as error:  # OSError: the module is there, its C library is not
        raise RecordingError(
            "recordings need the library soundfile; install it with: pip install 'wallpeg[listen]'"
        ) from error
    _refuse_unreadable(path)
    try:
        sound = soundfile.SoundFile(path)
    except soundfile.SoundFileError as error:
        raise RecordingError(
            f"{path} is no sound file, or cut off near its start; WAV, FLAC and OGG can be read"
        ) from error
    try:
        _refuse_cut_off(path, str(sound.extra_info))
    except RecordingError:
        sound.close()
        raise
    return sound


def frames_of(sound: Any, path: Path) -> Iterator[SoundFrames]:
    """All frames block by block; raises RecordingError where they end too early."""
    size, rate, declared, got = round(BLOCK_S * sound.samplerate), sound.samplerate, sound.frames, 0
    while True:
        try:
            frames: SoundFrames = sound.read(size, dtype="float64", always_2d=True)
        except RuntimeError as error:  # what soundfile raises for a stream that breaks
            raise _cut_off(path, f"after {got / rate:.2f} s") from error
        if len(frames) == 0:
            break
        got += len(frames)
        yield frames
    if got < declared < _UNKNOWN_FRAMES:
        raise _cut_off(path, f"after {got / rate:.2f} of {declared / rate:.2f} s")


def _refuse_unreadable(path: Path) -> None:
    try:
        found = path.stat()
        if stat.S_ISREG(found.st_mode):
            path.open("rb").close()
    except (OSError, ValueError) as error:  # ValueError: a name with a NUL in it
        raise RecordingError(f"{path} cannot be read: {getattr(error, 'strerror', None) or error}") from error
    if stat.S_ISDIR(found.st_mode):
        raise RecordingError(f"{path} is a folder; name a recording in it")
    if not stat.S_ISREG(found.st_mode):
        raise RecordingError(f"{path} cannot be read twice, as is needed; save the sound to a file first")
    if found.st_size == 0:
        raise RecordingError(f"{path} is empty")


def _refuse_cut_off(path: Path, log: str) -> None:
    for declared, there in _DECLARED.findall(log):
        if int(there) < int(declared) < _UNKNOWN_LENGTH:
            raise _cut_off(path, f"{there} of {declared} bytes are there")
    with path.open("rb") as file:
        if file.read(4) != _OGG_PAGE:
            return
        file.seek(max(0, os.fstat(file.fileno()).st_size - _OGG_LONGEST_PAGE))
        tail = file.read()
    page = tail[max(0, tail.rfind(_OGG_PAGE)) :]
    if len(page) < _OGG_HEADER or not page[5] & _OGG_LAST or len(page) < _ogg_length(page):
        raise _cut_off(path, "its last page is missing")


def _ogg_length(page: bytes) -> int:
    """Bytes of a page: its header, its table of segments, and the segments (RFC 3533, section 6)."""
    segments = page[_OGG_HEADER - 1]
    return _OGG_HEADER + segments + sum(page[_OGG_HEADER : _OGG_HEADER + segments])


def _cut_off(path: Path, where: str) -> RecordingError:
    return RecordingError(f"{path} is cut off or damaged ({where}); copy or export it again")
