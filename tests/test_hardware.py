"""The settings file: a slip names itself, and the box runs on the usual value of that key."""

from pathlib import Path

import pytest

from device.commands.settings_file import PLACES, keeper, load_settings, state_folder
from device.config.config_tables import parse_tables
from device.config.hardware import Hardware, read_hardware, settings_page
from device.config.settings import Settings
from device.errors import PartError, SettingError
from device.parts.store import Store

FILE = Path(__file__).parent.parent / "systemd" / "wallpeg.toml"


def nothing(_settings):
    return ()


def read(text: str) -> tuple[Hardware, tuple[str, ...]]:
    tables, refusals = parse_tables(text)
    assert not refusals
    return read_hardware(tables)


USUAL = read("")[0]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (
            '[panel]\ncontroller = "ssd1307"',
            'controller = "ssd1307" is not one of ssd1306, ssd1309 or sh1106',
        ),
        ("[panel]\ni2c_address = 0x70", "i2c_address = 112 is not 0x3c or 0x3d, without quotes; 0x3c works"),
        ('[panel]\ni2c_address = "0x3c"', "without quotes; 0x3c works"),
        ("[panel]\nrotation = 90", "rotation = 90 is not one of 0 or 180"),
        ("[buttons]\nnext = 2", "next = 2 is outside 4 to 27 (GPIO numbers; 2 and 3 are the panel's)"),
        ("[buttons]\nnext = 17.5", "next = 17.5 is not a whole number"),
        ("[buttons]\nnext = 27", "put two buttons on one pin; next = 17, previous = 27, tone = 22 works"),
        ("[microphone]\nsample_rate_hz = 44", "sample_rate_hz = 44 is outside 8000 to 192000 Hz"),
        ("[microphone]\nname = 7", 'name = 7 is not a text of up to 80 characters on one line; "" works'),
        ("[speaker]\nfitted = 1", "fitted = 1 is not true or false; true works"),
        ("[microphon]\nname = 7", "[microphon] is not known in the settings file; did you mean microphone?"),
        ("[panel]\ncontroler = 3", "controler = 3 is not known in [panel]; did you mean controller?"),
    ],
)
def test_a_slip_is_named_and_the_usual_value_holds(text, sentence):
    hardware, refusals = read(text)
    assert len(refusals) == 1
    assert sentence in refusals[0]
    assert hardware == USUAL


def test_what_is_right_beside_a_slip_still_holds():
    hardware, refusals = read('[panel]\nrotation = 90\ncontroller = "sh1106"\n[buttons]\ntone = 5')
    assert len(refusals) == 1
    assert hardware.panel.controller.value == "sh1106"
    assert hardware.buttons.tone == 5


def test_the_installed_file_shows_everything_that_can_be_set():
    assert FILE.read_text() == settings_page()


def test_the_installed_file_changes_nothing_and_neither_does_it_uncommented():
    tables, _ = parse_tables(FILE.read_text())
    assert read_hardware(tables) == (USUAL, ())
    lines = FILE.read_text().splitlines()
    bare = "\n".join(line.removeprefix("# ") if " = " in line and "`" not in line else line for line in lines)
    assert bare.count(" = ") > 30
    tables, refusals = parse_tables("\n".join(line for line in bare.splitlines() if not line.startswith("#")))
    assert not refusals
    assert read_hardware(tables) == (USUAL, ())


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path / "kept.toml")


def test_a_file_asked_for_by_name_that_is_not_there_is_refused(store, tmp_path):
    with pytest.raises(SettingError, match=r"there is no settings file .*none.toml; leave --config out"):
        load_settings(tmp_path / "none.toml", store, nothing)


def test_without_any_file_everything_is_as_usual(store, monkeypatch):
    monkeypatch.setattr("device.commands.settings_file.PLACES", ())
    settings = load_settings(None, store, nothing)
    assert (settings.path, settings.hardware, settings.chosen.settings) == (None, USUAL, Settings())
    assert settings.refusals == ()


def test_the_file_named_comes_before_the_boot_partitions_and_that_before_the_systems(
    store, tmp_path, monkeypatch
):
    assert [str(place) for place in PLACES] == ["/boot/firmware/wallpeg.toml", "/etc/wallpeg.toml"]
    named, boot, system = (tmp_path / name for name in ("named.toml", "boot.toml", "system.toml"))
    monkeypatch.setattr("device.commands.settings_file.PLACES", (boot, system))
    read = []
    for path, hz in ((system, 441), (boot, 442), (named, 443)):
        path.write_text(f"[settings]\nreference_hz = {hz}\n")
        asked = named if named.exists() else None
        read.append(load_settings(asked, store, nothing).chosen.settings.reference_hz)
    assert read == [441.0, 442.0, 443.0]


@pytest.mark.parametrize("garbage", [b"\x00\xff\xfe", b"[panel", b"= = =", b"x" * 100_000], ids=repr)
def test_a_file_that_is_no_toml_is_one_sentence_and_usual_settings(store, tmp_path, garbage):
    path = tmp_path / "wallpeg.toml"
    path.write_bytes(garbage)
    settings = load_settings(path, store, nothing)
    assert settings.hardware == USUAL
    assert len(settings.refusals) == 1
    assert str(path) in settings.refusals[0]


def test_what_the_buttons_changed_is_there_after_the_power_was_cut(store, tmp_path):
    path = tmp_path / "wallpeg.toml"
    path.write_text("[settings]\nreference_hz = 442\n")
    before = load_settings(path, store, nothing).chosen
    assert before.settings.reference_hz == 442.0
    keeper(store, before, print)(Settings(reference_hz=415.0))
    after = load_settings(path, store, nothing).chosen
    assert after.settings == Settings(reference_hz=415.0)
    assert after.from_file.reference_hz == 442.0


def test_a_damaged_file_of_changes_is_set_aside_and_said_once(store):
    store.path.write_text("[changed]\nreference_hz = 44")
    first = load_settings(None, store, nothing)
    assert first.chosen.settings == first.chosen.from_file
    assert any("set aside" in sentence for sentence in first.refusals)
    assert load_settings(None, store, nothing).refusals == ()


def test_a_folder_that_cannot_be_written_is_noted_once(tmp_path):
    notes = []
    store = Store(tmp_path / "kept.toml")
    keep = keeper(store, load_settings(None, store, nothing).chosen, notes.append)
    store.path = tmp_path / "kept.toml" / "is no folder" / "kept.toml"
    (tmp_path / "kept.toml").write_text("")
    for hz in (441.0, 442.0):
        with pytest.raises(PartError):
            keep(Settings(reference_hz=hz))
    assert len(notes) == 1


def test_the_service_managers_folder_is_used(monkeypatch):
    monkeypatch.setenv("STATE_DIRECTORY", "/var/lib/wallpeg")
    monkeypatch.setattr(Path, "home", lambda: 1 / 0)  # the service's user has none
    assert state_folder() == Path("/var/lib/wallpeg")
