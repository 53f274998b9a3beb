"""`wallpeg listen` on recorded open strings: every string is named, and none is called by another's name.

The bass is tuned in fifths, C1 G1 D2 A2, so read twice as fast it is a cello, four times as fast a viola.
The recordings are not kept here (`tests/bench/recorded_notes.py` says which they are): `--recorded DIR`.
"""

import json

import pytest

from device.__main__ import main

soundfile = pytest.importorskip("soundfile", reason="reads recordings: pip install 'wallpeg[listen]'")

FILES = ("c1", "g1", "d2", "a2")  # the bass's open strings, as its files are called
FASTER = {2: ("cello", ("C2", "G2", "D3", "A3")), 4: ("viola", ("C3", "G3", "D4", "A4"))}


@pytest.fixture
def names(tmp_path, capsys):
    """The strings that the command names in a recording that is read so many times as fast."""

    def listened(path, faster: int) -> set[str]:
        sound, rate = soundfile.read(path, dtype="float32")
        played = tmp_path / "played.wav"
        soundfile.write(played, sound, rate * faster)
        assert main(["listen", str(played), "--json", "--instrument", FASTER[faster][0]]) == 0
        said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
        return {line["string"] for line in said} - {None}

    return listened


@pytest.mark.heavy
@pytest.mark.parametrize("folder", ["bass_plucked", "bass_bowed"])
@pytest.mark.parametrize("file", FILES)
@pytest.mark.parametrize("faster", FASTER)
def test_every_recorded_open_string_is_named(recorded, names, folder, file, faster):
    string = FASTER[faster][1][FILES.index(file)]
    named = {path.name: names(path, faster) for path in sorted((recorded / folder).glob(f"{file}_*.flac"))}
    assert len(named) >= 8
    missed = [name for name, said in named.items() if said != {string}]
    assert missed == []
