"""How long, how thick and how tight: the sizes of instruments and of what turns on them.

Sounding lengths of full-size instruments: a string maker's engineer gives 325 to 328 mm for the violin,
370 to 380 for the viola, some 700 for the cello and 1030 to 1100 for double basses of the usual sizes.
Everything else is from memory of common practice, each with the range it is drawn from.
"""

from dataclasses import dataclass

from demo.mechanics.cores import Range
from dsp import Instrument


@dataclass(frozen=True, slots=True)
class Frame:
    """What a kind of instrument measures at full size, in mm, and how its pegs are made."""

    sounding_mm: Range  # nut to bridge
    behind: Range  # bridge to the hook of the tailpiece, over the sounding length
    pegbox: Range  # nut to peg, over the sounding length; the middle strings' are longest
    shaft_mm: Range  # where the string winds, with half the string's own thickness on either side
    teeth: Range | None = None  # turns of a machine head for one of its shaft; None for pegs


BODY_FRAMES: dict[Instrument, Frame] = {
    Instrument.VIOLIN: Frame((324.0, 330.0), (0.155, 0.175), (0.06, 0.18), (5.8, 7.8)),
    Instrument.VIOLA: Frame((360.0, 385.0), (0.155, 0.175), (0.06, 0.18), (6.3, 8.4)),
    Instrument.CELLO: Frame((680.0, 700.0), (0.155, 0.185), (0.06, 0.18), (8.8, 11.8)),
    Instrument.DOUBLE_BASS: Frame((1030.0, 1100.0), (0.2, 0.35), (0.06, 0.2), (8.5, 12.5), (16.0, 26.0)),
}
GEARED_PEG: Range = (3.9, 4.5)  # turns of the thumb piece for one of the shaft
SIZE_LENGTHS: dict[str, float] = {  # sounding length as a share of the full size's; makers differ by +-1.5 %
    "4/4": 1.0,
    "3/4": 0.945,
    "1/2": 0.875,
    "1/4": 0.795,
    "1/8": 0.715,
    "1/10": 0.675,
    "1/16": 0.63,
}
SIZES_DIFFER: Range = (0.985, 1.015)
SMALLER_SHAFT = 0.5  # a shaft shrinks by half as much as the length does
THREAD_MM: Range = (0.4, 0.6)  # a fine tuner's screw moves in so far for one turn
LEVER: Range = (0.6, 1.1)  # and the hook so many times as far
SCREW_TURNS: Range = (5.0, 9.0)  # from one end of its travel to the other
TENSION_N: dict[Instrument, dict[str, Range]] = {  # at pitch, at full size
    Instrument.VIOLIN: {"G3": (40.0, 49.0), "D4": (40.0, 52.0), "A4": (50.0, 62.0), "E5": (68.0, 84.0)},
    Instrument.VIOLA: {"C3": (46.0, 56.0), "G3": (46.0, 56.0), "D4": (48.0, 60.0), "A4": (64.0, 82.0)},
    Instrument.CELLO: {
        "C2": (120.0, 142.0),
        "G2": (122.0, 142.0),
        "D3": (128.0, 148.0),
        "A3": (150.0, 180.0),
    },
    Instrument.DOUBLE_BASS: {
        "E1": (250.0, 300.0),
        "A1": (250.0, 300.0),
        "D2": (260.0, 310.0),
        "G2": (265.0, 320.0),
    },
}
SMALLER_TENSION: Range = (0.0, 2.0)  # it goes with the size's share to a power between these
THINNER_CORE: Range = (0.0, 1.0)  # a wound string's core goes with that to a power between these
