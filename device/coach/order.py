"""In which order the strings are asked for."""

from device.config.settings import Order, Settings


def order_of(settings: Settings) -> tuple[str, ...]:
    """Names of all strings in the order they are asked for.

    `A_FIRST` starts at the A (the orchestra's order), goes down from there and then up;
    without an A string it goes from high to low. `WHICHEVER_IS_PLUCKED` starts from high to low
    and follows the player.
    """
    names = tuple(string.name for string in settings.strings)
    if settings.order is Order.LOW_TO_HIGH:
        return names
    letters = [string.letter for string in settings.strings]
    if settings.order is Order.A_FIRST and "A" in letters:
        start = len(letters) - 1 - letters[::-1].index("A")
        return names[start::-1] + names[start + 1 :]
    return names[::-1]
