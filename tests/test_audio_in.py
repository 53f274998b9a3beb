"""What comes from the microphone, block by block, and what goes to the panel, piece by piece."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from PIL import Image

from device.errors import PartError
from device.events import Heard, Plucked
from device.ports import SendsInPieces
from device.runtime.audio_in import AudioIn
from device.runtime.panel_out import PanelOut
from device.runtime.reconnect import ReconnectingPart
from device.runtime.sound_watch import RateWatch, SameWatch
from dsp import Cents, Hz, Reading, Seconds
from dsp.synthesis import Manner, pluck
from tests.scenes import PICTURES

RATE = 8000


class Blocks:
    """A microphone that gives one block after the other."""

    sample_rate_hz = RATE

    def __init__(self, *blocks):
        self.blocks, self.closed = list(blocks), 0

    def read(self):
        return self.blocks.pop(0) if self.blocks else np.zeros(0, np.float32)

    def close(self):
        self.closed += 1


class Teller:
    """A tracker that tells the readings it was given, one a block."""

    def __init__(self, *plucks):
        self.plucks, self.fed = list(plucks), []

    def feed(self, samples):
        self.fed.append(len(samples))
        if not self.plucks:
            return []
        pluck = self.plucks.pop(0)
        time = Seconds(sum(self.fed) / RATE)
        return [Reading(time, Hz(440.0), Cents(0.2), 0.0, 0.0, -20.0, Seconds(0.1), pluck)]


def noise(count=80, seed=1):
    return np.random.default_rng(seed).normal(0.0, 0.01, count).astype(np.float32)


def hearing(microphone, *trackers):
    made = list(trackers)
    part = ReconnectingPart("microphone", microphone, None, lambda _note: None)
    return AudioIn(part, lambda _rate: made.pop(0)), part


def counted(*rates_hz, start=RateWatch(Seconds(0.0))):  # noqa: B008 - frozen
    """Stretches of five seconds at these true rates, counted block by block, while 8000 Hz is said."""
    watch, tenths, seen = start, 0, []
    for rate in rates_hz:
        for _ in range(50):
            tenths += 1
            watch = watch.counted(round(0.1 * rate), Seconds(tenths / 10), RATE)
        seen.append((watch.wrong, watch.right))
    return seen


def test_a_rate_is_wrong_when_two_stretches_in_a_row_are_off_alike_and_right_after_one_that_is():
    """44100 samples given for 48000 are 8 % off; sound cards are within 0.02 % (common practice)."""
    low = RATE * 44100 / 48000
    assert counted(RATE) == [(False, True)]
    assert counted(low, low) == [(False, False), (True, False)]
    assert counted(low, RATE) == [(False, False), (False, True)]
    assert counted(low, RATE * 0.8) == [(False, False), (False, False)]
    assert counted(low, low, RATE)[-1] == (False, True)
    assert counted(RATE * 1.02, RATE * 1.02) == [(False, True)] * 2  # bursts of blocks
    assert counted(RATE * 1.04, RATE * 1.04)[-1] == (True, False)


def test_samples_that_are_all_alike_are_timed_from_the_first_of_them():
    still = SameWatch(0.25, Seconds(1.0))
    flat = np.full(80, 0.25, np.float32)
    assert still.looked_at(flat, Seconds(2.0)) == still
    moved = np.append(flat, np.float32(0.26))
    assert still.looked_at(moved, Seconds(2.0)).since == 2.0
    assert still.looked_at(flat + np.float32(0.5), Seconds(2.0)) == SameWatch(0.75, Seconds(2.0))
    assert still.looked_at(np.array([0.3, 0.25], np.float32), Seconds(2.0)).since == 2.0


@pytest.mark.parametrize("count", [1, 80])
def test_five_seconds_of_one_value_are_no_sound_however_they_come(count):
    blocks = [np.full(count, 0.25, np.float32)] * 60
    audio, part = hearing(Blocks(*blocks), Teller())
    lost_at = None
    for tick in range(60):
        audio.hear(Seconds(0.1 * tick))
        if part.part is None:
            lost_at = lost_at if lost_at is not None else 0.1 * tick
    assert lost_at == pytest.approx(5.0, abs=0.11)


def test_a_block_of_one_sample_is_sound():
    audio, part = hearing(Blocks(*[noise(1, seed) for seed in range(40)]), Teller())
    for tick in range(40):
        audio.hear(Seconds(0.1 * tick))
    assert part.part is not None
    assert not audio.silent


def test_readings_are_counted_and_each_sounding_is_told_once():
    audio, _ = hearing(Blocks(*[noise(80, seed) for seed in range(6)]), Teller(1, 1, 2))
    told = [event for tick in range(6) for event in audio.hear(Seconds(0.01 * tick))]
    assert [type(event) for event in told] == [Plucked, Heard, Heard, Plucked, Heard]
    assert [event.pluck for event in told] == [1, 1, 1, 2, 2]
    assert audio.readings == 3
    assert all(later.at >= earlier.at for earlier, later in pairwise(told))


def test_what_sounds_while_the_box_itself_does_is_thrown_away_and_soundings_go_on_counting():
    audio, _ = hearing(Blocks(*[noise(80, seed) for seed in range(6)]), Teller(1), Teller(1, 1))
    assert [event.pluck for event in audio.hear(Seconds(0.0))] == [1, 1]
    audio.mute(Seconds(0.2))
    assert audio.hear(Seconds(0.1)) == ()
    assert audio.hear(Seconds(0.19)) == ()
    assert [event.pluck for event in audio.hear(Seconds(0.2))] == [2, 2]


def test_attacks_are_told_only_while_they_are_wanted_and_asking_again_loses_none():
    """An attack is known some time after it; asking for the same pitch meanwhile keeps it."""
    struck_string = pluck(Hz(440.0), Seconds(1.0), RATE, manner=Manner(lead_s=Seconds(0.3)))
    blocks = np.array_split(struck_string + 0.01 * noise(struck_string.size), 84)

    def struck(*wishes):
        audio, _ = hearing(Blocks(*blocks), Teller())
        found = []
        for tick in range(84):
            for wish in wishes:
                audio.want_attacks(wish)
            found += audio.hear(Seconds(0.0125 * tick))
        return found

    assert struck() == []
    assert len(struck(Hz(196.0))) == 1
    assert struck(Hz(196.0), None) == []


class Panel:
    """Sends a picture in three pieces."""

    size = (128, 64)

    def __init__(self):
        self.shown, self.left, self.asked = 0, 0, 0

    def show(self, _picture):
        self.shown, self.left = self.shown + 1, 3

    def send_more(self):
        self.asked += 1
        self.left = max(self.left - 1, 0)
        return self.left > 0

    def adjust(self, _brightness_percent, _upside_down):
        self.left = 1

    def close(self):
        pass


def part_of(panel):
    return ReconnectingPart("panel", panel, None, lambda _note: None)


def test_pictures_are_counted_once_they_are_whole_and_a_quiet_panel_is_asked_every_second():
    scene = next(iter(PICTURES.values())).scene
    panel = Panel()
    assert isinstance(panel, SendsInPieces)
    out = PanelOut(part_of(panel), lambda *_: Image.new("1", (128, 64)))
    counts = []
    for tick in range(6):
        out.show(scene, Seconds(0.01 * tick))
        counts.append((panel.shown, out.pictures))
    assert counts[-1] == (1, 1)
    assert counts == sorted(counts)
    assert (1, 0) in counts  # shown, and not yet whole
    before = panel.asked
    for tick in range(6, 106):
        out.show(scene, Seconds(0.01 * tick))
    assert 1 <= panel.asked - before <= 2
    assert out.pictures == 1


def test_a_picture_that_is_turned_over_is_sent_at_once():
    scene = next(iter(PICTURES.values())).scene
    panel = Panel()
    out = PanelOut(part_of(panel), lambda *_: Image.new("1", (128, 64)))
    for tick in range(20):
        out.show(scene, Seconds(0.01 * tick))
    panel.left = 0
    over = replace(scene, settings=replace(scene.settings, upside_down=not scene.settings.upside_down))
    before = panel.asked
    out.show(over, Seconds(0.2))
    assert panel.asked == before + 1  # not a second later, when it would have been asked anyway


def test_a_part_that_comes_back_is_told_at_once_and_one_that_comes_and_goes_only_when_it_has_stayed():
    notes, there = [], [True]

    def reopen():
        if not there[0]:
            raise PartError("not there")
        return Blocks()

    part = ReconnectingPart("microphone", Blocks(), reopen, notes.append)
    part.lose(Seconds(100.0), PartError("gone"))
    part.seek(Seconds(101.0))
    assert notes == ["microphone: lost (gone)", "microphone: there"]
    part.lose(Seconds(130.0), PartError("gone"))
    part.seek(Seconds(131.0))
    assert len(notes) == 3  # lost again within a minute: there only after a minute
    part.seek(Seconds(190.9))
    assert len(notes) == 3
    part.seek(Seconds(191.0))
    assert notes[3] == "microphone: there"
    assert part.losses == 2
