"""How high a string may go: absolute pitches, whatever the target is.

Near breaking is 80 % of the breaking load with the lowest plausible strength. When the size is not
known the limit is the full size's, where a plain string is nearest to breaking. Wound strings get no
credit for a smaller size: thinner ones are fitted there.
"""

import math

from device.coach.makes import STRONGEST, Make, make_of
from device.coach.once import Once
from device.config.settings import Settings, Size
from dsp import Hz, OpenString

NEAR = 0.8  # of the breaking load: near breaking
LOWEST_REFERENCE_HZ = 380.0  # the lowest reference pitch the settings allow
PACE = 0.08  # of the breaking load between two plucks, or in a second: too fast


def _no_makes(_settings: Settings) -> dict[tuple[str, Size], Make]:
    return {}


_makes = Once(_no_makes)


def made(string: str, size: Size, settings: Settings) -> Make:
    """How `string` is made at `size`; worked out once."""
    known = _makes(settings)
    make = known.get((string, size))
    if make is None:
        make = known[string, size] = make_of(string, size, settings)
    return make


def largest_size(settings: Settings) -> Size:
    """The largest size it may have."""
    return Size.FULL if settings.size is Size.UNKNOWN else settings.size


def _weakest(string: str, settings: Settings) -> Make:
    size = largest_size(settings)
    make = made(string, size, settings)
    return make if make.plain else made(string, Size.FULL, settings)


def load_share(string: str, hz: Hz, settings: Settings) -> float:
    """Share of the least plausible breaking load that `string` carries at `hz`."""
    make = _weakest(string, settings)
    return make.share * (hz / make.hz) ** 2


def limit_hz(string: str, settings: Settings) -> Hz:
    """Near breaking: above this pitch nothing is tightened and STOP is shown."""
    make = _weakest(string, settings)
    return Hz(make.hz * math.sqrt(NEAR / make.share))


def highest_hz(string: str, settings: Settings) -> Hz:
    """No string of this make sounds higher: the strongest has broken."""
    make = _weakest(string, settings)
    return Hz(make.hz * math.sqrt(STRONGEST / make.share))


def refusals(settings: Settings) -> tuple[str, ...]:
    """One whole sentence for each string whose own target passes its limit; empty when all is well."""
    sentences = []
    for name, target in settings.targets.items():
        limit = limit_hz(name, settings)
        if target > limit:
            sentences.append(_refusal(name, target, limit, settings))
    return tuple(sentences)


def _refusal(name: str, target: Hz, limit: Hz, settings: Settings) -> str:
    reference = math.floor(settings.reference_hz * limit / target)
    works = f"a reference pitch of {reference} Hz or lower, " if reference >= LOWEST_REFERENCE_HZ else ""
    return (
        f"{OpenString.named(name).letter} at {target:.0f} Hz would put "
        f"{load_share(name, target, settings):.0%} of the breaking load on a string that may carry "
        f"{NEAR:.0%} ({limit:.0f} Hz): choose {works}a lower note or another string."
    )
