"""A sound played at another speed, beside SciPy's polyphase resampling and beside what must not be in it."""

import numpy as np
import pytest

from demo.lessons.resampled import resampled

RATE_HZ = 16_000
TIMES = np.arange(RATE_HZ) / RATE_HZ
WINDOW = np.hanning(RATE_HZ)


def partials(hz, count):
    """A steady sum of sines that fades in and out, so that its ends say nothing."""
    return WINDOW * sum(np.sin(2.0 * np.pi * number * hz * TIMES) for number in range(1, count + 1))


@pytest.mark.parametrize(("up", "down"), [(3, 2), (2, 3), (5, 4)])
def test_it_is_what_scipy_resamples(up, down):
    signal = pytest.importorskip("scipy.signal", reason="it is in the extra [bench]")
    sound = partials(440.0, 8)  # up to 3520 Hz, which every one of these rates holds
    wanted = signal.resample_poly(sound, up, down)
    ours = resampled(sound, np.arange(len(wanted)) * down / up)
    assert np.max(np.abs(ours - wanted)) < 0.02 * np.max(np.abs(wanted))


def test_a_string_played_slower_has_no_images_between_its_partials():
    hz, speed = 659.26, 2.0 ** (-37.0 / 1200.0)
    ours = resampled(partials(hz, 11), np.arange(RATE_HZ) * speed)
    power = np.abs(np.fft.rfft(ours)) ** 2
    places = np.fft.rfftfreq(len(ours), 1.0 / RATE_HZ) / (hz * speed)
    between = np.abs(places - np.round(places)) > 0.1
    assert power[between].sum() < 1e-4 * power.sum()


def test_what_a_slower_sampling_cannot_hold_is_taken_out():
    high = WINDOW * np.sin(
        2.0 * np.pi * 5_000.0 * TIMES
    )  # played at double speed: 10 kHz, where 8 is the most
    low = WINDOW * np.sin(2.0 * np.pi * 3_000.0 * TIMES)
    places = np.arange(RATE_HZ // 2) * 2.0
    assert np.max(np.abs(resampled(high, places))) < 0.01
    assert np.max(np.abs(resampled(low, places))) > 0.9


def test_beyond_its_end_there_is_nothing():
    assert not resampled(np.ones(100), np.arange(150.0))[100:].any()
