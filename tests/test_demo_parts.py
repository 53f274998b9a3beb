"""The demo's stand-in parts, the room and the terminal's characters."""

import numpy as np
import pytest
from PIL import Image

from demo.characters import braille, drawn, half_blocks
from demo.parts import KeptPanel, KeyButtons, RecordedMicrophone, RoomMicrophone, SteppedClock, WallClock
from demo.room import ROOM_DBFS, Room
from device.events import Button
from dsp import Hz, Seconds


def test_a_stepped_clock_moves_only_while_somebody_sleeps():
    clock = SteppedClock()
    assert clock.now() == clock.now() == 0.0
    clock.sleep(Seconds(0.25))
    assert clock.now() == 0.25


def test_a_wall_clock_starts_at_nothing_and_never_goes_back():
    clock = WallClock()
    first = clock.now()
    clock.sleep(Seconds(0.01))
    assert 0.0 <= first < first + 0.01 <= clock.now()


def test_the_microphone_hears_the_room_up_to_now_and_no_further():
    clock = SteppedClock()
    microphone = RoomMicrophone(Room(8000, seed=1), clock)
    assert len(microphone.read()) == 0
    clock.sleep(Seconds(0.5))
    assert len(microphone.read()) == 4000
    assert len(microphone.read()) == 0


def test_a_room_sounds_the_same_however_it_is_asked():
    def heard(cuts):
        room = Room(8000, seed=5)
        room.pluck(Seconds(0.1), Hz(440.0))
        room.pluck(Seconds(0.4), Hz(196.0))
        return np.concatenate([room.sound(a, b) for a, b in zip([0, *cuts], [*cuts, 8000], strict=True)])

    assert np.array_equal(heard([4000]), heard([1, 800, 3301, 7999]))


def test_a_room_is_quiet_until_a_string_is_plucked_and_the_hand_stops_the_last_one():
    room = Room(16000, seed=2)
    room.pluck(Seconds(0.5), Hz(440.0))
    room.damp(Seconds(1.0))
    before, ringing, after = room.sound(0, 8000), room.sound(8000, 16000), room.sound(17600, 19200)
    assert 20.0 * np.log10(np.std(before)) == pytest.approx(ROOM_DBFS, abs=0.5)
    assert np.std(ringing) > 30.0 * np.std(before)
    assert np.std(after) < 3.0 * np.std(before)


def test_a_recording_is_played_whole_then_silence():
    clock = SteppedClock()
    blocks = [np.full(300, 0.1, np.float32), np.full(450, 0.2, np.float32)]
    microphone = RecordedMicrophone(iter(blocks), 1000, clock)
    heard = []
    while not microphone.over:
        clock.sleep(Seconds(0.1))
        heard.append(microphone.read())
    sound = np.concatenate(heard)
    assert np.array_equal(sound[:750], np.concatenate(blocks))
    assert not sound[750:].any()
    assert len(sound) == 800


def test_a_key_holds_its_buttons_down_for_a_while():
    clock = SteppedClock()
    buttons = KeyButtons(clock)
    assert not buttons.down()
    buttons.press(Button.NEXT, Button.PREVIOUS, hold_s=Seconds(3.0))
    assert set(buttons.down()) == {Button.NEXT, Button.PREVIOUS}
    clock.sleep(Seconds(3.1))
    assert not buttons.down()


def test_a_kept_panel_keeps_pictures_as_they_were():
    panel = KeptPanel(SteppedClock())
    picture = Image.new("1", (128, 64))
    panel.show(picture)
    picture.putpixel((0, 0), 1)
    assert panel.shown[0][1].getpixel((0, 0)) == 0


def noise_picture():
    return Image.fromarray(np.random.default_rng(3).random((64, 128)) > 0.5)


def test_half_blocks_carry_every_pixel():
    picture = noise_picture()
    back = np.zeros((64, 128), bool)
    for y, line in enumerate(half_blocks(picture)):
        for x, char in enumerate(line):
            back[2 * y, x], back[2 * y + 1, x] = char in "▀█", char in "▄█"
    assert np.array_equal(back, np.asarray(picture))


def test_braille_carries_every_pixel():
    """Dot numbers 1 to 8 of the Unicode standard, block Braille Patterns: bit n-1 is dot n."""
    places = {1: (0, 0), 2: (1, 0), 3: (2, 0), 4: (0, 1), 5: (1, 1), 6: (2, 1), 7: (3, 0), 8: (3, 1)}
    picture = noise_picture()
    back = np.zeros((64, 128), bool)
    for y, line in enumerate(braille(picture)):
        for x, char in enumerate(line):
            for dot, (row, column) in places.items():
                back[4 * y + row, 2 * x + column] = bool((ord(char) - 0x2800) >> (dot - 1) & 1)
    assert np.array_equal(back, np.asarray(picture))


@pytest.mark.parametrize(("columns", "rows", "width"), [(80, 24, 66), (200, 50, 130), (200, 30, 66)])
def test_the_panel_is_drawn_as_large_as_the_terminal_allows(columns, rows, width):
    lines = drawn(noise_picture(), columns, rows)
    assert {len(line) for line in lines} == {width}
    assert len(lines) + 3 < rows
