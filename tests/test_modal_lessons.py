"""What a lesson shows to a child whose strings sound by their own mechanics: never a wrong way.

The string is that of Kirchhoff and Carrier (`tests/bench/modal_strings.py` names the papers); it and its
bank of plucks share no constant with the signal path, the lesson or the demo's own synthesis.
"""

import math
from functools import lru_cache
from importlib.util import find_spec

import numpy as np
import pytest

from dsp import Hz

if find_spec("scipy") is None:
    pytest.skip("scipy is not installed (extra: bench)", allow_module_level=True)

from tests.bench.common import RATE
from tests.bench.modal_lessons import Judged, played
from tests.bench.modal_strings import Draw, bank

BANK, LESSONS = 8, 20
STILL = Draw((0.0, 0.0), (60.0, 60.0), (1e-9, 1e-9), (0.2, 0.2), (0.0, 0.0), 0.0)


@lru_cache(maxsize=1)
def judged() -> Judged:
    """Lessons of a careful pupil with all strings 1 to 40 cents off."""
    found = Judged()
    for number in range(LESSONS):
        played(found, number, BANK)
    return found


def test_a_string_without_losses_or_stretch_keeps_its_pitch():
    """Phase of the first partial over a second, against the pitch asked for."""
    pitch = Hz(440.0)
    (sound,) = bank([pitch], 1.2, 3, STILL)
    time = np.arange(sound.size) / RATE
    turned = sound * np.exp(-2j * math.pi * pitch * time)
    size = round(0.1 * RATE)
    first, last = (np.sum(turned[s : s + size] * np.hanning(size)) for s in (round(0.1 * RATE), round(RATE)))
    apart_hz = np.angle(last / first) / (2.0 * math.pi * 0.9)
    assert abs(apart_hz) < 0.01  # 0.04 cents


def test_a_hard_pluck_starts_as_sharp_as_it_is_asked_to():
    """By 20 cents of mean tension, and up to half as much again, as a string that swings in one mode.

    Duffing's oscillator goes faster by 3/8 of the share by which the square of its swing stiffens it; its
    mean stiffening alone would give 1/4 (L. D. Landau and E. M. Lifshitz, Mechanics, section 28).
    """
    draw = Draw((20.0, 20.0), (5.0, 5.0), (1e-9, 1e-9), (0.2, 0.2), (0.0, 0.0), 0.0)
    (sound,) = bank([Hz(440.0)], 0.3, 3, draw)
    time = np.arange(sound.size) / RATE
    turned = sound * np.exp(-2j * math.pi * 440.0 * time)
    size = round(0.03 * RATE)
    first, last = (np.sum(turned[s : s + size] * np.hanning(size)) for s in (480, 480 + size))
    cents_sharp = 1200.0 * np.log2(1.0 + np.angle(last / first) / (2.0 * math.pi * 0.03 * 440.0))
    assert 19.0 < cents_sharp < 30.0


@pytest.mark.heavy
def test_no_arrow_points_the_wrong_way():
    """Among 20 lessons some 180 arrows are shown."""
    found = judged()
    assert found.arrows.total() > 120
    assert found.wrong_way == []


@pytest.mark.heavy
def test_no_peg_is_asked_for_where_a_fine_tuner_reaches():
    found = judged()
    assert found.arrows["fine-tuner"] > 120
    assert found.needless_peg == []


@pytest.mark.heavy
def test_what_is_called_right_is_right_within_tolerance_and_three_cents():
    found = judged()
    assert found.right > 80
    assert found.falsely_right == []
    assert found.falsely_all_right == 0
