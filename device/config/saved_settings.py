"""Turns what was changed with the buttons into a text, and back, over power cuts and versions.

The text holds only the changed keys, and it wins over the settings file until "back to the file" is chosen.
Its last table, `[end]`, proves that it is whole; a text without it is not used at all. A key that this
version does not know, because a newer version wrote it, is kept and written again. A key that it knows but
can no longer use, because an older version wrote it, is refused in a sentence and left out.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from device.config.config_tables import parse_tables
from device.config.settings import Settings
from device.config.settings_table import SETTINGS
from device.errors import SettingError, quoted

FORMAT_VERSION = 1
_HEAD = "# Written by the box: what was changed with its buttons. It wins over the settings file.\n"


@dataclass(frozen=True, slots=True)
class SavedSettings:
    """What was changed, by key, and what only a newer version understands, as TOML."""

    values: Mapping[str, object] = field(default_factory=dict)
    unknown_keys: Mapping[str, str] = field(default_factory=dict)


def changes_to_save(settings: Settings, from_file: Settings, before: SavedSettings) -> SavedSettings:
    """What has to be saved so that `settings` come back; `before` is what was saved until now."""
    values = {
        key.name: getattr(settings, key.name)
        for key in SETTINGS.keys
        if getattr(settings, key.name) != getattr(from_file, key.name)
    }
    return SavedSettings(values, before.unknown_keys)


def with_changes(changes: SavedSettings, from_file: Settings) -> Settings:
    """The settings of the file with what was changed on top."""
    values: dict[str, Any] = dict(changes.values)
    return replace(from_file, **values)


def to_text(changes: SavedSettings) -> str:
    """The whole text to be written."""
    lines = [SETTINGS.key(name).written(value) for name, value in changes.values.items()]
    lines += [f"{name} = {text}" for name, text in changes.unknown_keys.items()]
    return "\n".join([f"{_HEAD}version = {FORMAT_VERSION}", "", "[changed]", *lines, "", "[end]", ""])


def from_text(text: str) -> tuple[SavedSettings, tuple[str, ...]]:
    """Read a text; each part that cannot be used is named in a sentence. It never fails."""
    found, refusals = parse_tables(text)
    changed = found.get("changed")
    if refusals or "end" not in found or not isinstance(changed, dict):
        return SavedSettings(), (
            "what was changed with the buttons cannot be read again; the settings file holds",
        )
    known = {key.name: key for key in SETTINGS.keys}
    values: dict[str, object] = {}
    unknown_keys: dict[str, str] = {}
    refused: list[str] = []
    for name, given in changed.items():
        if name not in known:
            written = _toml(given)
            if written is not None:
                unknown_keys[quoted(name)] = written
            continue
        try:
            values[name] = known[name].value(given)
        except SettingError as refusal:
            refused.append(f"changed with the buttons: {refusal}")
    return SavedSettings(values, unknown_keys), tuple(refused)


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
