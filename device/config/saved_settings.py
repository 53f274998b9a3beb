"""What was changed with the buttons, as a text that outlives a power cut and other versions.

It holds the changed keys alone and wins over the settings file, until "as in the file" is chosen.
The last table, `[end]`, is the proof that the text is whole: without it nothing is taken from it.
A key this version does not know (a newer box wrote it) is kept and written again; one it knows but
cannot use any more (an older box wrote it) is refused in a sentence and left out.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from device.config.config_tables import parse_tables
from device.config.settings import Settings
from device.config.settings_table import SETTINGS
from device.errors import SettingError, quoted

VERSION = 1
_HEAD = "# Written by the box: what was changed with its buttons. It wins over the settings file.\n"


@dataclass(frozen=True, slots=True)
class SavedSettings:
    """What was changed, by key, and what only a newer version understands, as TOML."""

    values: Mapping[str, object] = field(default_factory=dict)
    strangers: Mapping[str, str] = field(default_factory=dict)


def changes_to_save(settings: Settings, from_file: Settings, before: SavedSettings) -> SavedSettings:
    """What has to be kept so that `settings` come back; `before` is what was kept until now."""
    values = {
        key.name: getattr(settings, key.name)
        for key in SETTINGS.keys
        if getattr(settings, key.name) != getattr(from_file, key.name)
    }
    return SavedSettings(values, before.strangers)


def with_changes(changes: SavedSettings, from_file: Settings) -> Settings:
    """The settings of the file with what was changed on top."""
    values: dict[str, Any] = dict(changes.values)
    return replace(from_file, **values)


def to_text(changes: SavedSettings) -> str:
    """The whole text to be written."""
    lines = [SETTINGS.key(name).written(value) for name, value in changes.values.items()]
    lines += [f"{name} = {text}" for name, text in changes.strangers.items()]
    return "\n".join([f"{_HEAD}version = {VERSION}", "", "[changed]", *lines, "", "[end]", ""])


def from_text(text: str) -> tuple[SavedSettings, tuple[str, ...]]:
    """What a text holds, and a sentence for each part of it that cannot be used. Never fails."""
    found, refusals = parse_tables(text)
    changed = found.get("changed")
    if refusals or "end" not in found or not isinstance(changed, dict):
        return SavedSettings(), (
            "what was changed with the buttons cannot be read again; the settings file holds",
        )
    known = {key.name: key for key in SETTINGS.keys}
    values: dict[str, object] = {}
    strangers: dict[str, str] = {}
    refused: list[str] = []
    for name, given in changed.items():
        if name not in known:
            written = _toml(given)
            if written is not None:
                strangers[quoted(name)] = written
            continue
        try:
            values[name] = known[name].value(given)
        except SettingError as refusal:
            refused.append(f"changed with the buttons: {refusal}")
    return SavedSettings(values, strangers), tuple(refused)


def _toml(value: object) -> str | None:
    """A plain TOML value as it was written, or None for anything richer."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, list):
        parts = [_toml(part) for part in value]
        return None if None in parts else f"[{', '.join(part for part in parts if part is not None)}]"
    return None
