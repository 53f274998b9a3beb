"""Layers the settings: defaults at the bottom, then the settings file, then what the buttons changed.

Nothing in the file or in the saved changes can keep the box from starting or bring a string near its
breaking load. A value that is refused is named in a sentence, and the value of the layer below applies.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from device.config.config_tables import read_table
from device.config.saved_settings import SavedSettings, from_text, with_changes
from device.config.settings import Refuse, Settings
from device.config.settings_table import SETTINGS

_SAFE = Settings()


@dataclass(frozen=True, slots=True)
class LayeredSettings:
    """The settings that hold, and how they came about."""

    settings: Settings
    from_file: Settings  # what "as in the file" brings back
    saved: SavedSettings  # what was changed with the buttons
    refusals: tuple[str, ...]  # whole sentences, for the journal


def layer_settings(tables: Mapping[str, object], kept_text: str | None, refuse: Refuse) -> LayeredSettings:
    """Put the settings together.

    Parameters
    ----------
    tables : the settings file as TOML gives it
    kept_text : what `device.config.saved_settings.to_text` wrote; None when nothing was changed yet
    refuse : what is wrong with settings as a whole
    """
    from_file, sentences = read_table(SETTINGS, tables.get(SETTINGS.name, {}))
    refused = refuse(from_file)
    if refused:
        from_file = with_usual_strings(from_file)
    kept, more = (SavedSettings(), ()) if kept_text is None else from_text(kept_text)
    settings = with_changes(kept, from_file)
    dropped = refuse(settings)
    if dropped:
        kept, settings = SavedSettings(unknown_keys=kept.unknown_keys), from_file
    return LayeredSettings(settings, from_file, kept, (*sentences, *refused, *more, *dropped))


def with_usual_strings(settings: Settings) -> Settings:
    """The same with the usual strings at the usual pitch, which no string breaks at."""
    return replace(
        settings,
        retuned=_SAFE.retuned,
        reference_hz=_SAFE.reference_hz,
        temperament=_SAFE.temperament,
        string_set=_SAFE.string_set,
    )
