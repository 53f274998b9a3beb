"""Where the demo plays: Quince Lane, an invented studio, and the invented pupils who come there.

A row of pupils before their lesson, each with an instrument as it came out of its case. What a pupil
brings can be changed by the command's flags; the instrument follows the settings.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from demo.mechanics.build import Build
from demo.mechanics.starts import Start
from device.config.settings import FineTuners, Pegs, Settings, Size, StringSet


@dataclass(frozen=True, slots=True)
class Pupil:
    """Somebody of the scenario."""

    name: str
    start: Start
    character: str
    says: str  # why the instrument is as it is
    pegs: bool = False  # the teacher is beside: pegs may be turned


PUPILS: Mapping[str, Pupil] = {
    pupil.name.lower(): pupil
    for pupil in (
        Pupil("Wanda", Start.FEW_CENTS, "careful", "played yesterday, and the strings are nearly right"),
        Pupil("Ottokar", Start.DRY_WEEK, "hasty", "had the violin beside a stove for a week"),
        Pupil("Lioba", Start.COLD_ROOM, "hesitant", "came through the snow"),
        Pupil("Quirin", Start.SLACK_FIFTH, "careful", "found one peg loose, and the teacher is there", True),
        Pupil(
            "Emmerich", Start.FRESHLY_STRUNG, "careful", "has one new string, and the teacher is there", True
        ),
    )
}


def build_of(settings: Settings) -> Build:
    """The instrument that the settings describe."""
    size = settings.size.value
    if settings.size is Size.UNKNOWN:
        size = Size.FULL.value
    return Build(
        settings.instrument,
        size,
        settings.left_handed,
        settings.pegs is Pegs.WOODEN,
        {FineTuners.ALL: "all", FineTuners.HIGHEST: "highest", FineTuners.NONE: "none"}[settings.fine_tuners],
        gut_e=settings.string_set is StringSet.PLAIN_GUT_E,
        retuned=settings.retuned,
    )
