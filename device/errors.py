"""What can be refused, each also a built-in kind, so that a caller may catch either."""


class WallpegError(Exception):
    """Base of every refusal of this project; its text is one whole sentence for a person."""


class SettingError(WallpegError, ValueError):
    """A setting is outside what works; names the key, the value, the range and a value that works."""


class UsageError(WallpegError, ValueError):
    """The command line asks for something there is not; the command ends with status 2."""


class RecordingError(WallpegError, OSError):
    """A recording cannot be read."""


class PartError(WallpegError, OSError):
    """A real part (microphone, panel, buttons, speaker) is missing or does not answer."""


class NotYetError(PartError):
    """A part is being opened and may be there in a moment."""


class StuckError(WallpegError, TimeoutError):
    """A library hangs and offers no way out; only a new process helps."""


class PictureError(WallpegError, OSError):
    """A picture file cannot be written."""
