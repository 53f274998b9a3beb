"""Frequencies, and the cents between them.

A cent is a hundredth of an equal-tempered semitone, 1200 to the octave
(A. J. Ellis, appendix to his translation of Helmholtz, On the Sensations of
Tone, 1885). Sharp is positive and flat is negative everywhere.
"""

import math
from typing import NewType

Hz = NewType("Hz", float)
Cents = NewType("Cents", float)
Seconds = NewType("Seconds", float)

CENTS_PER_OCTAVE = 1200.0


def cents(frequency: Hz, target: Hz) -> Cents:
    """How far `frequency` lies above `target`; both above 0 Hz.

    >>> round(cents(Hz(660.0), Hz(440.0)), 3)  # a pure fifth, 3:2
    701.955
    """
    return Cents(CENTS_PER_OCTAVE * math.log2(frequency / target))


def shifted(frequency: Hz, by: Cents) -> Hz:
    """The frequency that lies `by` cents above `frequency`; the inverse of `cents`.

    >>> round(shifted(Hz(440.0), Cents(-1200.0)), 3)
    220.0
    """
    return Hz(frequency * 2.0 ** (by / CENTS_PER_OCTAVE))
