"""Frozen values are replaced, never changed; this does it three times as fast as the standard library.

A lesson replaces some twenty of them for each reading, and many thousand lessons are simulated.
"""

from typing import TYPE_CHECKING

if TYPE_CHECKING:  # types are checked field by field, as for the standard library's
    from dataclasses import replace as replace  # noqa: PLC0414 - others import it from here
else:
    _set = object.__setattr__

    def replace(value, /, **changes):
        """A copy of a frozen dataclass with slots, some of its fields changed.

        Raises TypeError for a field that it does not have.
        """
        kind = type(value)
        new = object.__new__(kind)
        for name in kind.__slots__:
            _set(new, name, changes.pop(name) if name in changes else getattr(value, name))
        if changes:
            raise TypeError(f"{kind.__name__} has no field {', '.join(changes)}")
        return new
