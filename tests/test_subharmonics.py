"""A pitch of which only every second or third partial sounds is no pitch: it is twice or three times as high.

The sounds are what a look at a recorded harp B5 and at a guitar's G sharp found: a strong string, and, under
it, faint noise of the room in which a peak or two stands where a lower string would have it.
"""

import numpy as np
import pytest

from dsp import Hz
from dsp.acquisition import _LITTLE, _NOTHING
from dsp.octaves import share_beside
from dsp.spectrum import power_spectrum
from dsp.synthesis.plucks import pluck
from dsp.synthesis.realistic import realistic_manner

RATE_HZ = 16_000
BAND_HZ = Hz(7_000.0)
PITCHES = (196.0, 293.7, 440.0, 659.3, 988.0)


def spectrum(hz: float, seed: int):
    sound = np.asarray(pluck(Hz(hz), 0.25, RATE_HZ, manner=realistic_manner(seed), seed=seed))
    noise = np.random.default_rng(seed).standard_normal(sound.size) * 1e-3 * np.max(np.abs(sound))
    return power_spectrum((sound + noise)[800:3200].astype(np.float32), RATE_HZ)


@pytest.mark.parametrize("hz", PITCHES)
@pytest.mark.parametrize("below", [2.0, 3.0])
def test_a_half_and_a_third_of_a_string_have_nothing_beside_its_partials(hz, below):
    shares = [share_beside(spectrum(hz, seed), Hz(hz / below), 0.0, BAND_HZ) for seed in range(60, 80)]
    assert sum(share < _NOTHING for share in shares) >= 19
    assert sum(share < _LITTLE for share in shares) == 20


@pytest.mark.parametrize("hz", PITCHES[:4])
def test_a_string_itself_has_partials_of_every_number(hz):
    shares = [share_beside(spectrum(hz, seed), Hz(hz), 0.0, BAND_HZ) for seed in range(60, 100)]
    assert min(shares) > _NOTHING
    assert sum(share > _LITTLE for share in shares) >= 24


def test_one_partial_alone_says_nothing():
    assert share_beside(spectrum(988.0, 60), Hz(988.0), 0.0, Hz(1_200.0)) == 1.0
