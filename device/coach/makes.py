"""How the usual strings are made: how near to breaking they are, and how far they stretch.

Two facts carry everything here (Fletcher & Rossing, The Physics of Musical Instruments, on the ideal
string): tension T = mu (2 L f)^2 goes with the square of the frequency, and a plain string's stress
is rho (2 L f)^2, whatever its thickness. So a plain string breaks at a fixed product of length and
frequency; on a wound string the core carries the load and the winding only adds mass. Strain and
share of the breaking load go together (both are the core's stress over a property of its material),
so on a smaller instrument both are scaled alike, with the square of the length.

Lengths are in mm, at full size; shares and strains are plain numbers at the usual pitch (A4 = 440 Hz).
What is marked "from memory" is an ordinary figure of the trade that we could not look up.
"""

from dataclasses import dataclass

from device.config.settings import Settings, Size, StringSet
from dsp import OPEN_STRINGS, Hz, Instrument, OpenString, Temperament, cents, string_frequencies

STANDARD_HZ = Hz(440.0)  # ISO 16:1975; strings are made for it
STEEL_STRENGTH = 2634e6  # Pa, least of music wire of 0.28 mm: 382 ksi (ASTM A228, table of tensile limits)
STEEL_DENSITY = 7850.0  # kg/m3, handbook value for carbon steel
STEEL_STIFFNESS = 200e9  # Pa, Young's modulus of steel wire; handbooks give 190 to 210
GUT_LEAST_LENGTH_HZ = 245.0
"""Hz m at which thin plain gut breaks: a string maker's published tests give 260 on average, some 240 to
280. Not the very least of them, because a plain gut E is sold for 440 Hz and stands it (common
practice): 659.3 Hz on 328 mm is 216 Hz m, and below 242 that would count as near breaking."""
GUT_STRAIN = 0.045  # 330 MPa over 5.5 GPa, less creep: gut is linear (Materials 11 (2018) 2160); from memory
SYNTHETIC_STRAIN = (
    0.036  # tension over tangent stiffness (8 GPa when taut: Materials 10 (2017) 497), from memory
)
ROPE_STRAIN = 0.006  # steel core of a wound string, from memory; little, so that steps come out small
WOUND_TOP_SHARE = 0.55  # of the least breaking load, highest wound string, from memory
WOUND_SHARE = 0.45  # of the least breaking load, lower wound strings, from memory
STRONGEST = 1.6  # times the least plausible load, borne by the strongest string; from memory

LENGTH_MM = {
    Instrument.VIOLIN: 328.0,  # nut to bridge, common practice
    Instrument.VIOLA: 375.0,  # common practice, 360 to 385
    Instrument.CELLO: 695.0,  # common practice
    Instrument.DOUBLE_BASS: 1060.0,  # common practice for the usual size
}
WHOLE = 1.29  # from tailpiece to peg over nut to bridge: a sixth behind the bridge, an eighth in the pegbox
RELATIVE_LENGTH = {  # string length over the full one's; violin makers' figures, from memory
    Size.FULL: 1.0,
    Size.THREE_QUARTER: 0.94,
    Size.HALF: 0.87,
    Size.QUARTER: 0.79,
    Size.EIGHTH: 0.72,
    Size.TENTH: 0.68,
    Size.SIXTEENTH: 0.64,
}
_DOWN_AT_MOST = -300.0  # cents; further down than a minor third a string made for that note is fitted


@dataclass(frozen=True, slots=True)
class Make:
    """One string as it is made, on an instrument of one size."""

    hz: Hz  # the pitch it is made for
    share: float  # of the least plausible breaking load, at that pitch
    strain: float  # elastic stretch at that pitch, over the whole length
    softest: float  # the real strain may be so many times this, at most (stiffness differs between makers)
    stiffest: float  # and at least so many times
    whole_mm: float  # from tailpiece to peg
    plain: bool  # one wire or gut, without a winding


def sizes(settings: Settings) -> tuple[Size, ...]:
    """The sizes the instrument may have."""
    return tuple(RELATIVE_LENGTH) if settings.size is Size.UNKNOWN else (settings.size,)


_E5 = OpenString.named("E5")


def make_of(string: str, size: Size, settings: Settings) -> Make:
    """How the open string `string` of these settings is made, at `size` (not `UNKNOWN`)."""
    usual = _usual(string, settings)
    relative = RELATIVE_LENGTH[size]
    length_mm = LENGTH_MM[settings.instrument] * relative
    whole = length_mm * WHOLE
    note = OpenString.named(usual)
    hz = string_frequencies([note], STANDARD_HZ, Temperament.EQUAL)[0]
    highest = string == settings.strings[-1].name and note.note_number >= _E5.note_number
    if settings.instrument is Instrument.VIOLIN and highest:  # what thickness a plain string has is no matter
        return _plain(hz, length_mm, whole, settings)
    top = string == settings.strings[-1].name or usual == "A4"
    rope = settings.instrument in {Instrument.CELLO, Instrument.DOUBLE_BASS} or (
        settings.instrument is Instrument.VIOLA and usual == "A4"
    )
    strain = (ROPE_STRAIN if rope else SYNTHETIC_STRAIN) * relative**2
    softest = 8.0 if rope else 2.0  # a synthetic core where steel is usual
    share = (WOUND_TOP_SHARE if top else WOUND_SHARE) * relative**2
    return Make(hz, share, strain, softest, 2 / 3, whole, plain=False)


def _plain(hz: Hz, length_mm: float, whole_mm: float, settings: Settings) -> Make:
    """A plain E: its load and strain follow from length and pitch alone."""
    length_hz = length_mm / 1000.0 * hz
    if settings.string_set is StringSet.PLAIN_GUT_E:
        relative = length_mm / LENGTH_MM[Instrument.VIOLIN]
        share = (length_hz / GUT_LEAST_LENGTH_HZ) ** 2
        return Make(hz, share, GUT_STRAIN * relative**2, 2.0, 2 / 3, whole_mm, plain=True)
    stress = STEEL_DENSITY * (2.0 * length_hz) ** 2
    return Make(hz, stress / STEEL_STRENGTH, stress / STEEL_STIFFNESS, 2.0, 2 / 3, whole_mm, plain=True)


def _usual(string: str, settings: Settings) -> str:
    """Name of the string that is really fitted where `string` is asked for.

    Four strings stand in the usual places, so a retuned one is the usual string taken up, or a little
    down; any other string is made for its own note.
    """
    usual = OPEN_STRINGS[settings.instrument]
    names = [s.name for s in settings.strings]
    if len(names) != len(usual) or string not in names:
        return string
    there = usual[names.index(string)]
    hz = string_frequencies([there, OpenString.named(string)], STANDARD_HZ)
    return there.name if cents(hz[1], hz[0]) >= _DOWN_AT_MOST else string
