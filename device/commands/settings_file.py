"""Reads the settings file that a person edits, and writes the file of what was changed with the buttons."""

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from device.config.config_tables import parse_tables
from device.config.hardware import Hardware, read_hardware
from device.config.saved_settings import changes_to_save, from_text, to_text
from device.config.settings import Refuse, Settings
from device.config.settings_layers import LayeredSettings, layer_settings
from device.errors import PartError, SettingError
from device.parts.store import Store
from device.runtime.reconnect import Note

PLACES = (Path("/boot/firmware/wallpeg.toml"), Path("/etc/wallpeg.toml"))
"""Where the settings file is looked for: on the memory card's boot partition, where any computer can
edit it, then where a system's settings usually are."""

LARGEST_FILE = 65536  # bytes; the page that is installed has about 4 kB


@dataclass(frozen=True, slots=True)
class LoadedSettings:
    """Everything that was set, and what was wrong with it."""

    path: Path | None  # None: no file, everything is as usual
    hardware: Hardware
    chosen: LayeredSettings
    refusals: tuple[str, ...]  # whole sentences


def state_folder() -> Path:
    """Where the box keeps what was changed: the service manager's folder for it, or one's own."""
    managed = os.environ.get("STATE_DIRECTORY", "").split(":")[0]
    if managed:
        return Path(managed)
    home = os.environ.get("XDG_STATE_HOME")
    return (Path(home) if home else Path.home() / ".local" / "state") / "wallpeg"


def load_settings(path: Path | None, store: Store, refuse: Refuse) -> LoadedSettings:
    """The settings of the file at `path`, or of the first there is, under those of the store.

    Raises SettingError when the file that was asked for by name is not there. Any other fault is answered
    with the usual settings and a sentence.
    """
    place, tables, refusals = _tables(path)
    hardware, refused = read_hardware(tables)
    text, unread = _saved_text(store)
    choice = layer_settings(tables, text, refuse)
    unread += _set_aside(store, text)
    return LoadedSettings(place, hardware, choice, (*refusals, *refused, *choice.refusals, *unread))


def keeper(store: Store, choice: LayeredSettings, note: Note) -> Callable[[Settings], None]:
    """Build the function that saves changed settings; of several failures in a row it notes the first."""
    before, failing = choice.saved, False

    def keep(settings: Settings) -> None:
        nonlocal before, failing
        before = changes_to_save(settings, choice.from_file, before)
        try:
            store.write(to_text(before))
        except PartError as why:
            if not failing:
                note(f"settings are not kept: {why}")
            failing = True
            raise
        failing = False

    return keep


def _tables(path: Path | None) -> tuple[Path | None, Mapping[str, object], tuple[str, ...]]:
    places = PLACES if path is None else (path,)
    place = next((candidate for candidate in places if candidate.is_file()), None)
    if place is None:
        if path is not None:
            raise SettingError(
                f"there is no settings file {path}; leave --config out to use the usual settings"
            )
        return None, {}, ()
    try:
        with place.open("rb") as file:
            text = file.read(LARGEST_FILE).decode(errors="replace")
    except OSError as failure:
        return place, {}, (f"{place} cannot be read ({failure.strerror}); the usual settings hold",)
    tables, refusals = parse_tables(text)
    return place, tables, tuple(f"{place}: {refusal}" for refusal in refusals)


def _saved_text(store: Store) -> tuple[str | None, tuple[str, ...]]:
    try:
        return store.read(), ()
    except PartError as why:
        return None, (str(why),)


def _set_aside(store: Store, text: str | None) -> tuple[str, ...]:
    """Move a text of which nothing can be used out of the way, so that it is not reported again."""
    if text is None:
        return ()
    usable, refusals = from_text(text)
    if usable.values or usable.unknown_keys or not refusals:
        return ()
    try:
        store.set_aside()
    except PartError as why:
        return (str(why),)
    return (f"{store.path} was damaged and is set aside",)
