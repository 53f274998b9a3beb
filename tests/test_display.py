"""The panel, down to the bytes on the wire: what the controller's memory holds is what was drawn."""

import numpy as np
import pytest
from PIL import Image, ImageDraw

from device.errors import PartError, StuckError
from device.parts.pages import ADDRESSING, pages_of, runs_to_send, unknown
from tests.oled import Sh1106, Ssd1306, Wire

pytest.importorskip("luma.oled", reason="the board's panel library is not installed")
smbus2 = pytest.importorskip("smbus2", reason="the board's bus library is not installed")

from luma.core.interface import serial as luma_serial  # noqa: E402
from luma.oled import device as luma_device  # noqa: E402

from device.parts.display import Display  # noqa: E402
from device.parts.panel_seeker import PanelSeeker  # noqa: E402

MODELS = {"ssd1306": Ssd1306, "ssd1309": Ssd1306, "sh1106": Sh1106}
PANELS = pytest.mark.parametrize("controller", list(MODELS))


def needle(x: int) -> Image.Image:
    """A line at a place that moves, over letters that stay."""
    picture = Image.new("1", (128, 64))
    pen = ImageDraw.Draw(picture)
    pen.text((4, 4), "A4", fill=1)
    pen.line((64, 60, x, 20), fill=1)
    return picture


@pytest.fixture
def wired(monkeypatch):
    """Opens a panel on a wire of ours."""

    def open_panel(controller, **options):
        wire = Wire(MODELS[controller]())
        monkeypatch.setattr(smbus2, "SMBus", wire)
        return wire, Display(controller, **options)

    return open_panel


def brought(panel, picture):
    panel.show(picture)
    calls = 1
    while panel.send_more():
        calls += 1
    return calls


def lit(picture):
    return np.asarray(picture, dtype=bool)


@PANELS
@pytest.mark.filterwarnings("ignore:Image.Image.getdata is deprecated")  # which the library's driver calls
def test_the_model_of_the_controller_shows_what_the_library_s_own_driver_draws(controller):
    """Our reading of the data sheets against luma.oled's (Richard Hull and others, MIT), which we do not use
    to draw: its start-up, its addressing and its order of bits come out as the picture it was given."""
    wire = Wire(MODELS[controller]())
    driver = getattr(luma_device, controller)(luma_serial.i2c(bus=wire, address=0x3C))
    driver.persist = True  # it would clear the panel when the program ends
    random = np.random.default_rng(11)
    for share in (0.1, 0.5, 0.9):
        picture = Image.fromarray(random.random((64, 128)) < share)
        driver.display(picture)
        assert np.array_equal(wire.controller.picture(), lit(picture))
    driver.contrast(17)
    assert wire.controller.contrast == 17
    driver.hide()
    assert not wire.controller.on
    driver.show()
    assert wire.controller.on


@PANELS
def test_the_memory_holds_what_was_drawn(wired, controller):
    wire, panel = wired(controller)
    for x in (10, 11, 40, 120, 10):
        brought(panel, needle(x))
        assert np.array_equal(wire.controller.picture(), lit(needle(x)))


@PANELS
def test_a_panel_with_nothing_new_is_asked_whether_it_is_there_by_a_command_that_does_nothing(
    wired, controller, monkeypatch
):
    """E3h is NOP in the command tables of all three data sheets (from memory)."""
    wire, panel = wired(controller)
    brought(panel, needle(10))
    sent = []
    monkeypatch.setattr(wire.controller, "commands", sent.append)
    assert not panel.send_more()
    assert sent == [[0xE3]]


@PANELS
def test_random_pictures_arrive_whole(wired, controller):
    wire, panel = wired(controller)
    random = np.random.default_rng(7)
    for _ in range(20):
        picture = Image.fromarray(random.random((64, 128)) < random.random())
        brought(panel, picture)
        assert np.array_equal(wire.controller.picture(), lit(picture))


@PANELS
def test_nothing_is_seen_before_the_first_picture_is_whole(wired, controller):
    wire, panel = wired(controller, budget_s=0.0)
    panel.adjust(70, upside_down=False)
    assert not panel.send_more()
    assert not wire.controller.on
    panel.show(needle(30))
    while panel.send_more():
        assert not wire.controller.on
    assert wire.controller.on


@PANELS
def test_a_small_change_costs_few_bytes_and_none_costs_nothing(wired, controller):
    wire, panel = wired(controller)
    brought(panel, needle(64))
    before = wire.bytes
    brought(panel, needle(64))
    assert wire.bytes == before + 3  # address, control byte, and a command that does nothing: is it there?
    before = wire.bytes
    brought(panel, needle(65))
    assert 0 < wire.bytes - before < 200  # a whole picture is over 1024


def test_no_message_holds_up_the_loop(wired):
    wire, panel = wired("ssd1306")
    brought(panel, needle(64))
    assert wire.longest * 9 / 100_000 < 0.005  # s at 100 kHz, 9 clocks a byte; a tick is 0.01 s


def test_a_picture_is_sent_in_pieces(wired):
    _, panel = wired("ssd1306", budget_s=0.0)
    assert brought(panel, needle(64)) > 8


@PANELS
def test_a_panel_built_in_upside_down_is_turned(wired, controller):
    wire, panel = wired(controller, turned=True)
    brought(panel, needle(20))
    assert np.array_equal(wire.controller.picture(), lit(needle(20))[::-1, ::-1])


def test_turned_twice_is_upright_and_takes_effect_at_once(wired):
    wire, panel = wired("ssd1306", turned=True)
    brought(panel, needle(20))
    panel.adjust(70, upside_down=True)
    while panel.send_more():
        pass
    assert np.array_equal(wire.controller.picture(), lit(needle(20)))
    assert wire.controller.contrast == pytest.approx(0.7 * 255, abs=1)


@PANELS
def test_closing_clears_the_panel_and_switches_it_off(wired, controller):
    wire, panel = wired(controller)
    brought(panel, needle(20))
    panel.close()
    panel.close()
    assert not wire.controller.on
    wire.controller.on = True
    assert not wire.controller.picture().any()
    assert wire.closed == 1


def test_a_panel_that_is_gone_is_an_error_of_the_part(wired):
    wire, panel = wired("ssd1306")
    brought(panel, needle(20))
    wire.gone = True
    panel.show(needle(21))
    with pytest.raises(PartError, match="0x3c on I2C bus 1 does not answer"):
        panel.send_more()
    with pytest.raises(PartError, match="does not answer"):
        panel.close()
    assert wire.closed == 1


def test_no_panel_at_the_address_is_an_error_of_the_part(wired):
    with pytest.raises(PartError, match="0x3d on I2C bus 1"):
        wired("ssd1306", address=0x3D)


def test_seeking_a_panel_that_is_gone_costs_no_memory(wired):
    import gc  # noqa: PLC0415

    def devices():
        return sum(type(thing).__name__ == "Dark" for thing in gc.get_objects())

    before = devices()
    for _ in range(20):
        with pytest.raises(PartError):
            wired("ssd1306", address=0x3D)
    assert devices() == before


def test_no_i2c_bus_at_all_is_an_error_of_the_part():
    with pytest.raises(PartError, match="I2C bus 77 does not answer"):
        Display("ssd1306", bus=77)


def test_two_near_changes_are_one_run_and_two_far_ones_are_two():
    held = np.zeros((8, 128), np.int16)
    wanted = held.copy()
    wanted[3, [5, 5 + ADDRESSING, 90]] = 1
    assert [(r.page, r.first, r.last) for r in runs_to_send(held, wanted, 128)] == [(3, 5, 15), (3, 90, 90)]


def test_a_memory_nobody_wrote_to_is_sent_whole():
    wanted = pages_of(Image.new("1", (128, 64)), False)
    covered = [
        (r.page, x) for r in runs_to_send(unknown(128, 64), wanted, 32) for x in range(r.first, r.last + 1)
    ]
    assert covered == [(page, x) for page in range(8) for x in range(128)]


class Bus:
    """A device file that comes and goes."""

    def __init__(self):
        self.there = False

    def exists(self):
        return self.there


def test_a_bus_that_came_after_the_service_began_and_is_closed_to_it_ends_the_process(monkeypatch):
    def refuse():
        raise PartError("permission denied")

    bus = Bus()
    monkeypatch.setattr("device.parts.panel_seeker.Path", lambda _name: bus)
    monkeypatch.setattr("device.parts.panel_seeker.os.access", lambda *_: False)
    seeker = PanelSeeker(refuse, 1)
    with pytest.raises(PartError):
        seeker()
    bus.there = True
    with pytest.raises(StuckError, match="came after the service began"):
        seeker()
    with pytest.raises(PartError):
        PanelSeeker(refuse, 1)()  # there from the start: a new process would change nothing
