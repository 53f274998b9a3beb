"""When strings are struck: to a few milliseconds, at 20 dB, in a small room, synthetic and recorded.

What is chosen was chosen on seeds below 100 and on the takes a, b and rr1; these are the others. Truth is
known: a synthetic pluck begins where it is put, a recorded one where its level first comes within 30 dB of
its greatest.
"""

import numpy as np
import pytest

from dsp import Hz, Seconds
from dsp.attacks import KNOWN_AFTER_S, AttackWatch
from dsp.synthesis.manner import drawn_manner
from dsp.synthesis.plucks import pluck
from dsp.synthesis.realistic import realistic_manner
from tests.each import each

RATE = 48_000
SNR_DB = 20.0
SMALL_ROOM_S = 0.35  # reverberation time; a furnished room of a flat has 0.3 to 0.5 s (from memory)
VIOLIN = (196.0, 293.66, 440.0, 659.26)
MATCHED_S = 0.05
REPORTED_TAKES, ONSET_DB = ("c", "d", "rr2"), 30.0
RECORDINGS = [("bass", 4, 131.0), ("bass", 1, 32.7), ("guitar", 1, 110.0)]  # so many times as fast


def scene(notes, gap_s, seed, room):
    """Plucks one after the other, a finger stopping the string before each; the sound and the moments.

    No hand is even to the millisecond: without that, a period that divides the gap would go on as it was.
    """
    rng = np.random.default_rng((seed, 31))
    total = round((1.1 * gap_s * len(notes) + 2.0) * RATE)
    sound, moments = np.zeros(total), []
    for i, note in enumerate(notes):
        start = round((0.6 + (i + rng.uniform(-0.03, 0.03)) * gap_s) * RATE)
        finger = max(0, start - round(rng.uniform(0.0, 0.05) * RATE))
        sound[finger:] *= np.exp(-np.arange(total - finger) / (0.02 * RATE))
        end = min(total, start + len(note))
        sound[start:end] += note[: end - start]
        moments.append(start / RATE)
    power = np.mean(notes[0][: RATE // 2] ** 2)
    if room:
        sound = in_a_room(sound, rng)
    sound += np.sqrt(power) * 10.0 ** (-SNR_DB / 20.0) * rng.standard_normal(total)
    return sound.astype(np.float32), moments


def in_a_room(sound, rng):
    """Noise that dies away exponentially as the room's answer, 3 dB under the direct sound."""
    size = round(SMALL_ROOM_S * RATE)
    answer = rng.standard_normal(size) * np.exp(-6.91 * np.arange(size) / size)
    answer[: round(0.003 * RATE)] = 0.0
    answer *= 10.0 ** (-3.0 / 20.0) / np.sqrt(np.sum(answer**2))
    answer[0] = 1.0
    length = 1 << int(np.ceil(np.log2(len(sound) + size)))
    return np.fft.irfft(np.fft.rfft(sound, length) * np.fft.rfft(answer, length), length)[: len(sound)]


def attacks(sound, lowest=196.0, block=480):
    watch = AttackWatch(RATE, Hz(lowest))
    return [a for i in range(0, len(sound), block) for a in watch.feed(sound[i : i + block])]


def errors_s(scenes, lowest=196.0):
    """Errors of what was found, how many were wanted, and how many were told."""
    errors, wanted, told = [], 0, 0
    for sound, moments in scenes:
        found = [attack.time_s for attack in attacks(sound, lowest)]
        wanted, told = wanted + len(moments), told + len(found)
        for moment in moments:
            near = [one - moment for one in found if abs(one - moment) <= MATCHED_S]
            errors += [min(near, key=abs)] if near else []
    return np.abs(errors), wanted, told


def synthetic(seed, hz, count=6, manner=drawn_manner):
    return [
        pluck(Hz(hz), Seconds(1.5), RATE, manner=manner(seed * 50 + i), seed=seed * 50 + i)
        for i in range(count)
    ]


# manner, seconds from pluck to pluck, share found, and seconds within which 95 % of those lie
SYNTHETIC = [
    (drawn_manner, 1.0, 1.0, 0.005),
    (drawn_manner, 0.5, 1.0, 0.005),
    (drawn_manner, 0.25, 1.0, 0.005),
    (realistic_manner, 1.0, 1.0, 0.010),
    (realistic_manner, 0.5, 1.0, 0.010),
    (realistic_manner, 0.25, 0.95, 0.020),
]


@pytest.mark.parametrize("room", [False, True], ids=["dry", "small room"])
@pytest.mark.parametrize(("manner", "gap_s", "found_share", "limit_s"), SYNTHETIC)
def test_synthetic_plucks_are_found_to_a_few_milliseconds(manner, gap_s, found_share, limit_s, room):
    scenes = [scene(synthetic(s, VIOLIN[s % 4], manner=manner), gap_s, s, room) for s in range(100, 108)]
    errors, wanted, told = errors_s(scenes)
    assert wanted == 48
    assert told <= wanted + 1
    assert len(errors) >= found_share * wanted, f"{len(errors)} of {wanted}"
    assert np.median(errors) <= 0.005
    assert np.percentile(errors, 95) <= limit_s


@pytest.mark.parametrize("gap_s", [1.0, 0.5, 0.25])
@pytest.mark.parametrize("room", [False, True], ids=["dry", "small room"])
@pytest.mark.parametrize("recording", RECORDINGS, ids=["as a violin", "bass", "guitar"])
def test_recorded_plucks_are_found_to_a_few_milliseconds(recording, room, gap_s, recorded):
    name, up, lowest = recording
    soundfile = pytest.importorskip("soundfile")
    files = sorted((recorded / f"{name}_plucked").glob("*.flac"))
    files = [file for file in files if file.stem.endswith(REPORTED_TAKES)]
    order = np.random.default_rng(1).permutation(len(files))[:36]
    notes = []
    for file in (files[i] for i in order):
        sound, rate = soundfile.read(file)
        at = np.arange(0, len(sound) - 1, rate * up / RATE)
        note = np.interp(at, np.arange(len(sound)), sound)[: round(1.5 * RATE)]
        begins = np.flatnonzero(np.abs(note) > 10.0 ** (-ONSET_DB / 20.0) * np.abs(note).max())[0]
        notes.append(0.1 * note[begins:] / np.sqrt(np.mean(note[: RATE // 2] ** 2)))
    scenes = [scene(notes[i : i + 6], gap_s, i, room) for i in range(0, len(notes) - 5, 6)]
    errors, wanted, told = errors_s(scenes, lowest)
    assert wanted >= 18
    assert told <= wanted + 2
    assert len(errors) >= 0.94 * wanted, f"{len(errors)} of {wanted}"
    assert np.median(errors) <= 0.005
    assert np.percentile(errors, 95) <= (0.015 if gap_s > 0.25 else 0.03)  # 0.25 s apart: 24 ms on the bass


def knock(rng):
    """A knock on wood, something dropped: a burst of noise, and up to three modes of what was hit."""
    time = np.arange(round(0.4 * RATE)) / RATE
    sound = rng.standard_normal(time.size) * np.exp(-time / rng.uniform(0.003, 0.03))
    for _ in range(int(rng.integers(0, 4))):
        ring = np.sin(2.0 * np.pi * rng.uniform(80.0, 2500.0) * time)
        sound += rng.uniform(0.2, 1.5) * ring * np.exp(-time / rng.uniform(0.005, 0.04))
    return sound / np.sqrt(np.mean(sound[: round(0.03 * RATE)] ** 2))


def knocked(seed, room, rings):
    """Eight knocks as loud as plucks, on a quiet room or while strings ring; sound, knocks, plucks."""
    rng = np.random.default_rng((seed, 78))
    sound, moments, plucked = np.zeros(8 * RATE), [], []
    for i in range(2 if rings else 0):
        note = pluck(Hz(rng.choice(VIOLIN)), Seconds(3.4), RATE, manner=realistic_manner(seed + i), seed=seed)
        begins = round((0.5 + 3.5 * i) * RATE)
        sound[begins : begins + len(note)] += note
        plucked.append(begins / RATE)
    for i in range(8):
        begins, one = round((0.8 + 0.85 * i + rng.uniform(0.0, 0.2)) * RATE), 0.1 * knock(rng)
        end = min(begins + len(one), len(sound))
        sound[begins:end] += one[: end - begins]
        moments.append(begins / RATE)
    sound = in_a_room(sound, rng) if room else sound
    return (sound + 0.01 * rng.standard_normal(len(sound))).astype(np.float32), moments, plucked


@pytest.mark.parametrize("room", [False, True], ids=["dry", "small room"])
@pytest.mark.parametrize("rings", [False, True], ids=["quiet", "strings ring"])
def test_few_knocks_are_taken_for_plucks_and_what_rings_is_still_plucked(room, rings):
    """Before it was looked at how a beginning goes on, 81 to 100 % of such knocks were told."""
    met = taken = found = 0
    for seed in range(3000, 3005):
        sound, moments, plucked = knocked(seed, room, rings)
        told = [attack.time_s for attack in attacks(sound)]
        met += len(moments)
        taken += sum(any(abs(one - moment) < 0.08 for one in told) for moment in moments)
        found += sum(any(abs(one - moment) < MATCHED_S for one in told) for moment in plucked)
    assert met == 40
    assert taken <= 0.15 * met, f"{taken} of {met}"
    assert found == (10 if rings else 0)


def test_a_string_that_rings_is_no_second_pluck():
    """Four strings left ringing, beating with each other, and a double bass alone."""
    for seed, strings in each([(301, VIOLIN), (302, (65.41, 98.0, 146.83, 220.0)), (303, (41.2,))]):
        rng = np.random.default_rng(seed)
        sound = 0.003 * rng.standard_normal(6 * RATE)
        for i, hz in enumerate(strings):
            note = pluck(Hz(hz), Seconds(4.0), RATE, manner=realistic_manner(seed + i), seed=seed + i)
            begins = round((0.5 + 0.4 * i) * RATE)
            sound[begins : begins + len(note)] += note
        assert len(attacks(sound.astype(np.float32), min(strings))) == len(strings)


def test_neither_noise_nor_a_click_nor_silence_is_an_attack():
    rng = np.random.default_rng(5)
    noise = (0.01 * rng.standard_normal(20 * RATE)).astype(np.float32)
    assert attacks(noise) == []
    assert attacks(np.zeros(RATE, np.float32)) == []
    clicks = noise.copy()
    for i in range(1, 9):
        clicks[2 * i * RATE : 2 * i * RATE + 240] += 0.3
    assert attacks(clicks) == []


def test_the_length_of_the_blocks_changes_nothing():
    sound, _ = scene(synthetic(200, 440.0), 0.5, 200, room=False)
    assert attacks(sound, block=480) == attacks(sound, block=7919) == attacks(sound, block=101)
    assert len(attacks(sound)) > 3


def test_an_attack_is_told_soon_and_with_its_level():
    sound, moments = scene(synthetic(201, 440.0, 1), 1.0, 201, room=False)
    until = round((moments[0] + KNOWN_AFTER_S + 0.01) * RATE)
    (attack,) = attacks(sound[:until])
    assert -30.0 < attack.level_dbfs < 0.0


def test_the_limits_of_a_test_here_do_notice():
    """With every moment put 20 ms off, the same check must fail."""
    sound, moments = scene(synthetic(202, 440.0), 1.0, 202, room=False)
    errors, _, _ = errors_s([(sound, [moment + 0.02 for moment in moments])])
    assert np.median(errors) > 0.015
