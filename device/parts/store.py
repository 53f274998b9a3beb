"""One small file that is always whole, so that the plug may be pulled at any moment.

The new text goes to a temporary file beside the old one, is forced to the disk, takes the old one's
name in one step, and the folder is forced to the disk as well (POSIX rename(2), fsync(2)). Stopped
anywhere in between, the old text or the new one is found, never neither.
"""

import contextlib
import errno
import os
import stat
from pathlib import Path

from device.errors import PartError

LARGEST = 65536  # bytes; a settings file is under 2 kB, and what is far larger is no settings file


class Store:
    """A text under a name in a folder."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def read(self) -> str | None:
        """The text; None when nothing was kept yet.

        Raises PartError when it cannot be read. What is no text of ours (a link, a pipe or a device
        under that name, what is not UTF-8, or far too long) is set aside, and the error says so.
        """
        try:
            found = _content(self.path)
        except FileNotFoundError:
            return None
        except OSError as failure:
            if failure.errno != errno.ELOOP:
                raise PartError(f"{self.path} cannot be read ({failure.strerror})") from failure
            raise self._aside("is a link, which the box never makes") from failure
        if found is None:
            raise self._aside("is no file")
        if len(found) > LARGEST:
            raise self._aside(f"is longer than {LARGEST} bytes")
        try:
            return found.decode()
        except UnicodeDecodeError as failure:
            raise self._aside("is not UTF-8") from failure

    def write(self, text: str) -> None:
        """Keep the text in place of the old one. PartError when it cannot be kept; the old one stays."""
        fresh = self.path.with_name(self.path.name + ".new")
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            _written(fresh, text.encode())
            os.replace(fresh, self.path)  # noqa: PTH105 - one name for each step of the test's disk
            _folder_synced(self.path.parent)
        except OSError as failure:
            raise PartError(f"{self.path} cannot be written ({failure.strerror})") from failure

    def _aside(self, why: str) -> PartError:
        """Set it aside; what there is to say about it."""
        self.set_aside()
        return PartError(f"{self.path} {why}, so it is set aside and nothing of it holds")

    def set_aside(self) -> None:
        """Move a damaged file out of the way, for a person to look at; the one before it is lost."""
        try:
            os.replace(self.path, self.path.with_name(self.path.name + ".damaged"))  # noqa: PTH105
        except OSError as failure:
            raise PartError(f"{self.path} is damaged and cannot be moved ({failure.strerror})") from failure

    def forget(self) -> None:
        """Keep nothing any more."""
        try:
            self.path.unlink(missing_ok=True)
            _folder_synced(self.path.parent)
        except OSError as failure:
            raise PartError(f"{self.path} cannot be removed ({failure.strerror})") from failure


def _content(path: Path) -> bytes | None:
    """The first bytes of a file, one more than is allowed; None where it is none.

    Never waits, and follows no link.
    """
    handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NOFOLLOW | os.O_NONBLOCK)
    try:
        if not stat.S_ISREG(os.fstat(handle).st_mode):
            return None
        found = b""
        while len(found) <= LARGEST and (more := os.read(handle, LARGEST + 1 - len(found))):
            found += more
        return found
    finally:
        os.close(handle)


def _written(path: Path, content: bytes) -> None:
    """A file with just this content, on the disk when this returns.

    It is made anew: who runs this may be root (`wallpeg check`) in a folder that belongs to the
    service's user, and a link put there must not lead the writing elsewhere.
    """
    with contextlib.suppress(FileNotFoundError):
        os.unlink(path)  # noqa: PTH108 - one name for each step of the test's disk
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC
    handle = os.open(path, flags, 0o600)
    try:
        while content:
            content = content[os.write(handle, content) :]
        os.fsync(handle)
    finally:
        os.close(handle)


def _folder_synced(folder: Path) -> None:
    """The names in a folder, on the disk when this returns."""
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
