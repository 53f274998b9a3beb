"""When a string is plucked: the moment the level leaps."""

import numpy as np
import pytest

from dsp import Seconds
from dsp.onset import FRAMES, heard, leap, no_frames, swells, without_pitch
from dsp.synthesis import Manner, pluck, white_noise
from dsp.units import Hz

RATE = 12000.0
HOP = 120  # samples, 10 ms


def leaps(sound: np.ndarray, *, sounding: bool = False) -> list[float]:
    """Moments in seconds at which a leap is seen, to a frame."""
    frames, snapshots = no_frames(), []
    for start in range(0, sound.size - HOP + 1, HOP):
        frames = heard(frames, sound[start : start + HOP].astype(float), sounding=sounding)
        frame = leap(frames)
        if frame is not None:
            snapshots.append((start + frame * HOP / FRAMES) / RATE)
    return snapshots


def noisy(sound: np.ndarray, level_dbfs: float, seed: int = 1) -> np.ndarray:
    return sound + 10.0 ** (level_dbfs / 20.0) * white_noise(sound.size, seed)


@pytest.mark.parametrize("frequency", [41.2, 82.4, 196.0, 659.3])
def test_a_pluck_is_noticed_within_five_milliseconds(frequency):
    note = pluck(Hz(frequency), Seconds(1.0), RATE, manner=Manner(lead_s=Seconds(0.4)))
    later = [moment for moment in leaps(noisy(note, -50.0)) if moment > 0.3]
    assert later
    assert abs(later[0] - 0.4) <= 0.005


def test_a_string_that_rings_does_not_look_like_more_plucks():
    note = pluck(Hz(41.2), Seconds(1.5), RATE, manner=Manner(lead_s=Seconds(0.4)))
    assert not [moment for moment in leaps(noisy(note, -50.0)) if moment > 0.45]


def test_a_second_pluck_of_a_ringing_string_is_noticed():
    manner = Manner(lead_s=Seconds(0.4))
    note = pluck(Hz(196.0), Seconds(2.0), RATE, manner=manner)
    again = np.concatenate([np.zeros(round(0.8 * RATE), np.float32), note])[: note.size]
    assert [moment for moment in leaps(noisy(note + again, -50.0)) if abs(moment - 1.2) < 0.005]


def test_a_steady_room_makes_no_leap_after_its_first_moment():
    assert not [moment for moment in leaps(0.05 * white_noise(round(20 * RATE), 2)) if moment > 0.05]


def test_silence_makes_no_leap():
    assert not leaps(np.zeros(round(RATE)))


def test_a_bow_that_swells_shows_without_a_leap():
    time = np.arange(round(RATE)) / RATE
    bow = noisy(0.1 * np.minimum(time / 0.5, 1.0) * np.sin(2 * np.pi * 196.0 * time), -60.0)
    frames = no_frames()
    quiet = noisy(np.zeros(round(2 * RATE)), -60.0, 3)
    for start in range(0, quiet.size, HOP):
        frames = heard(frames, quiet[start : start + HOP], sounding=False)
    assert not swells(frames)
    seen = []
    for start in range(0, bow.size, HOP):
        frames = heard(frames, bow[start : start + HOP], sounding=False)
        seen.append(swells(frames))
    assert any(seen)


def test_what_had_no_pitch_becomes_part_of_the_room():
    frames = no_frames()
    for start in range(0, 20 * HOP, HOP):
        frames = heard(frames, 0.1 * white_noise(HOP, start).astype(float), sounding=True)
    assert frames.room < 0.001 * 0.01  # a stream that begins loud begins with a sound, not with the room
    assert without_pitch(frames).room > 0.1 * 0.01
