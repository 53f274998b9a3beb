"""Which way a hand turns to raise or lower a string, and what there is to turn.

Conventions: a rotation is seen by whoever faces the head of what is turned. "Away" is as the player
feels it, with a violin or viola in the lap and the strings towards the player, or seated behind a cello. The
geometry: the string comes up from the nut to the front of the shaft (the side the strings are on), so
raising moves that side up. `tests/test_rotation.py` derives every line below from vectors. It is common
practice that strings run over the front of the shaft, that the low strings' pegs are on the left as seen
from the strings' side, and that a screw raises clockwise.
"""

from device.config.settings import FineTuners, Pegs, Settings
from device.instrument.tuning_parts import Direction, Rotation, TuningPart
from dsp import Instrument

_OTHER = {
    Rotation.CLOCKWISE: Rotation.COUNTER_CLOCKWISE,
    Rotation.COUNTER_CLOCKWISE: Rotation.CLOCKWISE,
}
_PEGBOX_STRINGS = 4  # two pegs a side; with any other number the sides differ from maker to maker


def has_fine_tuner(string: str, settings: Settings) -> bool:
    """Whether `string` has a screw at the tailpiece; a double bass has none (common practice)."""
    if settings.instrument is Instrument.DOUBLE_BASS or settings.fine_tuners is FineTuners.NONE:
        return False
    return settings.fine_tuners is FineTuners.ALL or string == settings.strings[-1].name


def rotation_of(string: str, part: TuningPart, direction: Direction, settings: Settings) -> Rotation | None:
    """The rotation seen by whoever faces the head; None without a turn and for machine heads."""
    if Direction.NONE is direction or TuningPart.NONE is part:
        return None
    if part is TuningPart.FINE_TUNER:
        raising = Rotation.CLOCKWISE
    elif settings.instrument is Instrument.DOUBLE_BASS or len(settings.strings) != _PEGBOX_STRINGS:
        return None
    else:
        low = string in {s.name for s in settings.strings[: _PEGBOX_STRINGS // 2]}
        left = low is not settings.left_handed
        raising = Rotation.COUNTER_CLOCKWISE if left else Rotation.CLOCKWISE
    return raising if direction is Direction.TIGHTEN else _OTHER[raising]


def away_of(part: TuningPart, direction: Direction, settings: Settings) -> bool | None:
    """Whether the top of the peg goes away from the player; None for screws and machine heads."""
    if part is not TuningPart.PEG or direction is Direction.NONE:
        return None
    if settings.instrument is Instrument.DOUBLE_BASS:
        return None
    raising_is_away = settings.instrument is not Instrument.CELLO
    return raising_is_away is (direction is Direction.TIGHTEN)


def push_in_needed(part: TuningPart, settings: Settings) -> bool:
    """Wooden pegs hold by friction and are pushed in while turning (common practice)."""
    return (
        part is TuningPart.PEG
        and settings.pegs is Pegs.WOODEN
        and settings.instrument is not Instrument.DOUBLE_BASS
    )
