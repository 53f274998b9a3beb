"""How loud each harmonic of a plucked open string is, measured on real instruments.

Source: SHARC Timbre Dataset (G. J. Sandell, 1994), steady-portion amplitudes and phases of
pizzicato notes of the McGill University Master Samples. Harmonic k stands at index k - 1.
Carried over as levels in dB against the loudest harmonic, to 0.1 dB, and phases in radians, to
0.01. Cut: every harmonic above the last one that lies within 60 dB of the loudest. The
fundamental is not always loud: on the violin's G string it lies 24.6 dB under the second harmonic,
on the double bass's E string 40 dB under the third.
"""

import math
from dataclasses import dataclass

from dsp.strings import Instrument
from dsp.units import Hz


@dataclass(frozen=True, slots=True)
class Harmonics:
    """Levels and phases of the harmonics of one string, the fundamental first."""

    levels_db: tuple[float, ...]  # against the loudest, so the greatest is 0 dB
    phases_rad: tuple[float, ...]  # of a cosine, at the moment of the pluck

    def __post_init__(self) -> None:
        if len(self.levels_db) != len(self.phases_rad) or not self.levels_db:
            raise ValueError(
                f"{len(self.levels_db)} levels and {len(self.phases_rad)} phases do not match;"
                " give one of each for every harmonic, at least one"
            )


def _harmonics(levels_db: str, phases_rad: str) -> Harmonics:
    """A row of the table below: figures parted by spaces."""
    return Harmonics(tuple(map(float, levels_db.split())), tuple(map(float, phases_rad.split())))


PIZZICATO: dict[Instrument, dict[str, Harmonics]] = {
    Instrument.VIOLIN: {
        "G3": _harmonics(
            "-24.6 0 -14.8 -26.2 -38.0 -26.6 -22.9 -46.1 -53.3 -36.7 -61.5 -41.7 -64.2 -51.6 -63.0 "
            "-59.2 -58.6 -63.7 -63.7 -57.7",
            "-1.26 1.58 2.19 -0.58 1.83 -2.43 -0.64 -0.49 3.07 -2.49 0.53 0.30 -0.86 -2.41 -2.90 "
            "-0.94 -2.61 -3.03 1.59 -0.10",
        ),
        "D4": _harmonics(
            "0 -14.3 -39.7 -39.0 -44.4 -51.7 -35.6 -44.8 -48.5 -39.4 -49.9",
            "-2.78 2.01 -1.66 -1.85 0.69 -1.54 2.67 0.83 -0.03 1.66 0.39",
        ),
        "A4": _harmonics(
            "0 -17.4 -22.1 -38.4 -23.0 -37.1 -49.8 -49.2 -43.7 -58.4",
            "-1.48 3.11 -0.72 -3.04 -2.36 2.11 2.27 0.49 -0.27 -0.23",
        ),
        "E5": _harmonics(
            "0 -14.7 -20.5 -31.5 -18.4 -23.9 -34.2 -38.7 -29.8 -39.6 -28.2 -53.9 -29.4 -30.0 -46.9",
            "1.86 -1.38 -0.14 1.76 0.83 1.64 -2.28 -2.66 -0.50 2.71 -2.43 0.90 0.47 -0.96 -2.56",
        ),
    },
    Instrument.VIOLA: {
        "C3": _harmonics(
            "-25.3 0 -20.3 -19.1 -25.2 -30.4 -44.1 -44.1 -32.5 -34.4 -47.6 -48.1 -53.9",
            "-2.57 -1.51 2.28 2.08 -1.61 2.08 -1.40 -2.74 -0.83 0.23 2.74 -0.55 0.64",
        ),
        "G3": _harmonics(
            "-5.3 0 -24.0 -18.1 -12.6 -19.1 -27.1 -28.8 -23.6 -31.2 -50.2 -37.6 -36.2 -53.8 -44.5 "
            "-37.6 -55.4 -66.3 -60.5 -60.8 -59.8 -63.9 -69.6 -68.4 -58.2 -69.1 -59.9 -69.1 -71.3 "
            "-65.6 -59.8",
            "-2.55 -1.19 2.31 -1.86 2.91 -1.51 -0.44 -1.61 0.05 1.49 -0.42 -1.94 -0.44 2.04 -2.68 "
            "2.81 -0.76 0.05 1.01 1.89 1.31 -1.15 -2.52 -2.08 1.51 2.21 -1.33 1.49 0.59 2.32 -0.47",
        ),
        "D4": _harmonics(
            "0 -9.9 -19.7 -40.7 -27.5 -46.9 -34.1 -45.8 -40.6 -44.0 -47.0 -64.1 -59.0 -57.4",
            "1.58 -0.55 2.36 1.08 -0.07 -1.15 0.59 -0.77 1.16 1.48 -0.92 -2.94 2.39 2.84",
        ),
        "A4": _harmonics(
            "0 -20.0 -27.4 -22.4 -23.4 -23.4 -32.0 -52.8 -36.3 -51.7 -60.9 -51.3 -54.9",
            "-1.77 0.38 0.33 3.04 -0.03 -1.39 -3.07 1.17 0.28 1.92 1.63 1.12 0.94",
        ),
    },
    Instrument.CELLO: {
        "C2": _harmonics(
            "-18.7 0 -0.3 -13.6 -22.4 -21.0 -25.2 -25.8 -47.6 -49.8 -54.9 -55.5 -52.6 -59.2",
            "0.98 -1.35 -2.44 -1.49 -2.98 -0.70 0.48 -2.25 2.40 0.70 -1.89 2.39 -0.48 2.87",
        ),
        "G2": _harmonics(
            "0 -3.0 -19.9 -33.0 -28.5 -40.2 -57.1 -53.1 -45.3 -49.8",
            "-1.24 -2.02 0.97 -0.04 2.07 3.14 -2.61 2.11 -0.33 -2.97",
        ),
        "D3": _harmonics(
            "0 -1.5 -43.6 -18.5 -30.6 -46.1 -46.3 -38.3 -48.5 -55.0 -52.8",
            "-1.77 -1.39 2.49 1.31 -1.35 -2.81 -0.90 2.58 2.19 -0.16 2.63",
        ),
        "A3": _harmonics(
            "0 -21.3 -31.3 -37.6 -32.5 -35.7 -54.4 -63.8 -54.1",
            "-1.78 -2.87 0.02 -0.15 2.85 -2.71 2.22 -0.84 0.14",
        ),
    },
    Instrument.DOUBLE_BASS: {
        "E1": _harmonics(
            "-40.1 -5.1 0 -23.5 -27.5 -16.9 -20.6 -34.9 -26.7 -42.4 -32.3 -34.0 -31.6 -47.9 -49.5 "
            "-55.8 -56.6 -60.7 -47.6 -59.7 -55.0 -64.6 -71.2 -58.9 -62.5 -60.2 -59.3 -59.7",
            "-2.71 -2.93 0.93 -1.94 -1.49 -1.77 1.65 1.32 -0.74 1.15 2.95 -0.88 0.54 2.54 2.28 "
            "-0.30 -3.12 -2.21 1.68 -2.46 0.57 2.05 1.87 1.08 -0.45 0.96 0.17 -2.62",
        ),
        "A1": _harmonics(
            "-23.4 0 -18.9 -11.8 -9.4 -23.1 -13.2 -29.2 -44.7 -35.5 -49.5 -46.4 -47.3 -50.2 -56.0 "
            "-60.6 -59.8 -59.5 -58.3 -54.3 -52.6 -60.0 -60.1 -57.3",
            "2.46 1.79 -1.44 -0.45 2.26 0.54 2.27 -1.95 2.98 -0.27 0.69 -2.69 1.96 1.77 1.02 -2.25 "
            "-1.02 -0.16 1.08 -0.18 0.42 -0.39 -0.25 -1.52",
        ),
        "D2": _harmonics(
            "-3.6 -2.3 0 -16.2 -6.9 -31.4 -29.8 -32.9 -32.6 -29.8 -26.0 -36.7 -44.7 -45.9 -49.6 "
            "-51.5 -57.9 -51.5 -54.4 -58.3",
            "1.48 -1.40 1.46 1.89 2.22 2.66 0.89 2.70 -1.22 1.37 -1.24 1.67 1.62 0.69 0.92 1.97 "
            "-0.49 -1.24 -0.78 -0.38",
        ),
        "G2": _harmonics(
            "0 -10.9 -30.5 -20.6 -23.0 -46.3 -43.7 -36.8 -42.1 -60.3 -47.9 -53.9 -43.6 -59.2 -51.3 -56.2",
            "-1.33 -2.84 -0.18 1.93 1.59 -2.16 2.53 -0.58 -3.10 -0.05 2.57 -1.43 -1.30 2.75 -0.80 -1.24",
        ),
    },
}
"""The four instruments' open strings, by instrument and by the string's name, "G3"."""

_FUNDAMENTAL_HZ = {"G3": 195.998, "D4": 293.665, "A4": 440.0, "E5": 659.255}  # SHARC, of the violin's notes


def violin_harmonics_near(frequency: Hz) -> Harmonics:
    """The harmonics of the violin string that lies nearest to `frequency`, by interval.

    >>> violin_harmonics_near(Hz(200.0)) is PIZZICATO[Instrument.VIOLIN]["G3"]
    True
    """
    name = min(_FUNDAMENTAL_HZ, key=lambda n: abs(math.log(_FUNDAMENTAL_HZ[n] / frequency)))
    return PIZZICATO[Instrument.VIOLIN][name]
