"""Which settings hold: the usual ones, under those of the file, under what was changed with the buttons.

Nothing that stands in either text can keep the box from starting, and nothing in them brings a
string near its breaking load: what is refused is said in a sentence, and what lies under it holds.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from device.kept import Kept, applied, from_text
from device.keys import read
from device.menu import Refuse
from device.settings import Settings
from device.settings_keys import SETTINGS

_SAFE = Settings()


@dataclass(frozen=True, slots=True)
class Chosen:
    """The settings that hold, and how they came about."""

    settings: Settings
    from_file: Settings  # what "as in the file" brings back
    kept: Kept  # what was changed with the buttons
    refusals: tuple[str, ...]  # whole sentences, for the journal


def chosen(tables: Mapping[str, object], kept_text: str | None, refuse: Refuse) -> Chosen:
    """Put the settings together.

    Parameters
    ----------
    tables : the settings file as TOML gives it
    kept_text : what `device.kept.to_text` wrote; None when nothing was changed yet
    refuse : what is wrong with settings as a whole
    """
    from_file, sentences = read(SETTINGS, tables.get(SETTINGS.name, {}))
    refused = refuse(from_file)
    if refused:
        from_file = without_strain(from_file)
    kept, more = (Kept(), ()) if kept_text is None else from_text(kept_text)
    settings = applied(kept, from_file)
    dropped = refuse(settings)
    if dropped:
        kept, settings = Kept(strangers=kept.strangers), from_file
    return Chosen(settings, from_file, kept, (*sentences, *refused, *more, *dropped))


def without_strain(settings: Settings) -> Settings:
    """The same with the usual strings at the usual pitch, which no string breaks at."""
    return replace(
        settings,
        retuned=_SAFE.retuned,
        reference_hz=_SAFE.reference_hz,
        temperament=_SAFE.temperament,
        string_set=_SAFE.string_set,
    )
