"""Phases of a note's partials, averaged to a bounded number of times: what a settling course is fitted to."""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from dsp.median import middles
from dsp.reading import Signal
from dsp.tracks import Tracks
from dsp.units import CENTS_PER_OCTAVE

Rows = npt.NDArray[np.intp]

PER_CENT = math.log(2.0) / CENTS_PER_OCTAVE  # share of a frequency
LEAST_COLUMNS = 3  # from which a pitch is fitted
MOST_COLUMNS = 11  # times to which the blocks are averaged: bounds the cost of a fit
_MOST_PARTIALS = 10  # fitted, of those that are followed: more cost time and tell little
_EARLY_S = 0.08  # columns are as long as the age of what they hold plus this, in proportion
_HEARD = 8.0  # power over noise from which a partial is fitted (9 dB); its phase is good to 0.25 rad
_DROWNED = 4.0  # and under which a block of it says next to nothing
_OVERLAP = 4.0 / 3.0  # variance of a mean over many half-overlapped Hann blocks, against independent ones
_LEAST_FALL = 1e-3  # nats: keeps the time in which a swing dies finite
_LEAST_PHASE = 0.004  # radians that blocks are off without any noise: neighbours, changing amplitudes
STIFFNESS = 0.06  # cents a squared partial


@dataclass(frozen=True, slots=True)
class Columns:
    """Phases of the partials that tell most, averaged to a bounded number of times."""

    index: Rows  # shape (k,): which of the followed partials these are
    time_s: Signal  # shape (b,), from the pluck
    phase: Signal  # shape (k, b), unwrapped, against the expected frequencies
    variance: Signal  # shape (k, b), radians squared
    harmonic: Signal  # shape (k,)
    rate: Signal  # shape (k,): radians a second by which a cent advances the phase
    trust: Signal  # shape (k,): weight of each partial, 0..1
    stiffness: float  # usual change of stiffness from the expected one, cents a squared partial
    swing_s: float  # in which the swing dies to a share of 1 / e, by its loudest and its last block


def columns_of(tracks: Tracks, trust: Signal | None) -> Columns | None:
    """Average the phases of the partials that stand out; None where none does."""
    base = tracks.base
    heard = middles(tracks.over) > _HEARD
    telling = np.sqrt(tracks.power.sum(axis=1)) * base.harmonic * heard
    index = np.sort(np.argsort(-telling)[: min(_MOST_PARTIALS, int(heard.sum()))])
    if index.size == 0:
        return None
    phase, over = tracks.phase[index], tracks.over[index]
    variance = 1.0 / np.maximum(over, 0.05) + (over < _DROWNED)
    first = _edges(tracks.time_s)
    count = np.append(first[1:], tracks.time_s.size) - first
    return Columns(
        index=index,
        time_s=np.add.reduceat(tracks.time_s, first) / count,
        phase=np.add.reduceat(phase, first, axis=1) / count,
        variance=np.add.reduceat(variance, first, axis=1) / count**2 * _OVERLAP + _LEAST_PHASE**2,
        harmonic=base.harmonic[index],
        rate=2.0 * math.pi * PER_CENT * base.partial_hz[index],
        trust=np.ones(index.size) if trust is None else trust[index],
        stiffness=STIFFNESS - base.inharmonicity * _PER_B,
        swing_s=_swing_s(tracks, heard),
    )


def _swing_s(tracks: Tracks, heard: npt.NDArray[np.bool_]) -> float:
    power = tracks.power[heard].sum(axis=0)
    fell = 0.5 * math.log(float(power.max()) / max(float(power[-1]), 1e-30))
    return float(tracks.time_s[-1] - tracks.time_s[0]) / max(fell, _LEAST_FALL)


_EVENLY = np.arange(MOST_COLUMNS)
_PER_B = 0.5 / PER_CENT  # cents a squared partial for B of 1: k f sqrt(1 + B k^2) to first order


def _edges(time_s: Signal) -> Rows:
    """First block of each column: columns grow with the age of what they hold."""
    count = min(MOST_COLUMNS, time_s.size)
    begins, ends = time_s[0] + _EARLY_S, time_s[-1] + _EARLY_S
    evenly = begins * (ends / begins) ** (_EVENLY[:count] / count) - _EARLY_S
    first = np.searchsorted(time_s, evenly - 1e-9)
    return np.asarray(first[np.append(True, first[1:] > first[:-1])], np.intp)
