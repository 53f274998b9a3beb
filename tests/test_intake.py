"""How loud a sounding is: its own level, whatever rings beside it."""

import numpy as np
import pytest

from dsp import Hz
from dsp.intake import Intake
from dsp.sounding import Onset

RATE = 48000


def level(own: float, beside: float, *, stopped: bool = False) -> float:
    """What is said of a tone of one amplitude that begins at 0.5 s beside another that sounds before."""
    time = np.arange(RATE) / RATE
    rings = time < 0.5 if stopped else time < 2.0
    sound = beside * rings * np.sin(2 * np.pi * 196.0 * time)
    sound += own * (time >= 0.5) * np.sin(2 * np.pi * 293.66 * time)
    intake = Intake(float(RATE), Hz(1318.5))
    onset = None
    for _ in intake.hops_of(sound.astype(np.float32)):
        if onset is None and intake.time_s > 0.51:
            start = round(0.5 * intake.past.rate_hz)
            onset = Onset(start, plucked=True, ringing=intake.ringing(start))
    assert onset is not None
    return intake.loudest_dbfs(onset)


def dbfs(amplitude: float) -> float:
    return 20.0 * np.log10(amplitude / np.sqrt(2.0))


@pytest.mark.parametrize("beside", [0.0, 0.01, 0.05, 0.1])
def test_what_rings_on_beside_a_sounding_is_left_out_of_its_level(beside):
    assert level(0.1, beside) == pytest.approx(dbfs(0.1), abs=0.7)


def test_a_neighbours_pluck_is_as_soft_while_ours_rings_on():
    """12 dB under a string of ours that has sunk by 3 dB: it must not be said to be as loud as that."""
    assert level(0.025, 0.07) < dbfs(0.1) - 9.0


def test_a_string_that_is_stopped_as_another_begins_hides_it_by_10_db_at_most():
    assert level(0.1, 0.2, stopped=True) == pytest.approx(dbfs(0.1) - 10.0, abs=0.7)
    assert level(0.1, 0.05, stopped=True) == pytest.approx(dbfs(0.1), abs=1.5)
