"""Keys and value types: a settings file is read whatever stands in it, and a refusal says what works."""

import math
from dataclasses import dataclass
from enum import Enum

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from device.config.config_tables import (
    Key,
    Table,
    commented_table,
    parse_tables,
    read_table,
    table_text,
    unknown_tables,
)
from device.config.value_types import Choice, Flag, Notes, Number, Text
from device.errors import SettingError
from dsp import OpenString


class Wood(Enum):
    MAPLE = "maple"
    SPRUCE = "spruce"


@dataclass(frozen=True)
class Bench:
    height_mm: float = 450.0
    legs: int = 4
    wood: Wood = Wood.MAPLE
    padded: bool = False
    label: str = ""
    notes: tuple[OpenString, ...] | None = None


BENCH = Table(
    "bench",
    (
        Key("height_mm", Number(300.0, 600.0, "mm"), 450.0, "its height"),
        Key("legs", Number(3.0, 8.0, whole=True), 4, "how many legs"),
        Key("wood", Choice(Wood), Wood.MAPLE, "what it is made of"),
        Key("padded", Flag(), False, "it is padded"),
        Key("label", Text(10), "", "what is written on it"),
        Key("notes", Notes(), None, "open strings"),
    ),
    Bench,
)


def test_a_good_table_is_read_whole():
    found, _ = parse_tables(
        '[bench]\nheight_mm = 500\nlegs = 3\nwood = "spruce"\npadded = true\n'
        'label = "left"\nnotes = ["G3", "D4", "A4"]\n'
    )
    bench, refusals = read_table(BENCH, found["bench"])
    assert refusals == ()
    names = tuple(OpenString.named(name) for name in ("G3", "D4", "A4"))
    assert bench == Bench(500.0, 3, Wood.SPRUCE, True, "left", names)
    assert isinstance(bench.height_mm, float)


def test_an_empty_table_is_the_usual_bench():
    assert read_table(BENCH, {}) == (Bench(), ())


REFUSED = [
    ("height_mm", 45, "height_mm = 45 is outside 300 to 600 mm; did you mean 450?"),
    ("height_mm", 4500, "height_mm = 4500 is outside 300 to 600 mm; did you mean 450?"),
    ("height_mm", -450, "height_mm = -450 is outside 300 to 600 mm; did you mean 450?"),
    ("height_mm", 700, "height_mm = 700 is outside 300 to 600 mm; 600 works"),
    ("height_mm", math.nan, "height_mm = nan is outside 300 to 600 mm; 450 works"),
    ("height_mm", math.inf, "height_mm = inf is outside 300 to 600 mm; 450 works"),
    ("height_mm", 1 << 20000, "height_mm = a huge number is outside 300 to 600 mm; 450 works"),
    ("height_mm", "tall", 'height_mm = "tall" is not a number from 300 to 600 mm; 450 works'),
    ("height_mm", True, "height_mm = true is not a number from 300 to 600 mm; 450 works"),
    ("legs", 3.5, "legs = 3.5 is not a whole number from 3 to 8; 4 works"),
    ("wood", "mapel", 'wood = "mapel" is not one of maple or spruce; did you mean maple?'),
    ("wood", 7, "wood = 7 is not one of maple or spruce; maple works"),
    ("padded", 1, "padded = 1 is not true or false; false works"),
    ("label", "a" * 11, f'label = "{"a" * 11}" is not a text of up to 10 characters on one line; "" works'),
    ("notes", ["G3", "D4"], "is not a list of 3 to 6 notes"),
    ("notes", ["G3", "D4", "H4"], "'H4' is not a note: write a letter A to G"),
    ("notes", ["D4", "G3", "A4"], "is not in order: write 3 to 6 notes, low to high"),
    ("colour", "red", 'colour = "red" is not known in [bench]; known are height_mm, legs'),
    ("hieght_mm", 450, "hieght_mm = 450 is not known in [bench]; did you mean height_mm?"),
]


@pytest.mark.parametrize(("name", "found", "sentence"), REFUSED, ids=[sentence for _, _, sentence in REFUSED])
def test_a_refused_key_keeps_its_default_and_says_what_works(name, found, sentence):
    bench, refusals = read_table(BENCH, {name: found, "legs" if name != "legs" else "padded": 3})
    assert len(refusals) == (2 if name == "legs" else 1)  # beside it stands a good key, or a bad one
    assert sentence in refusals[0]
    assert getattr(bench, name, None) == getattr(Bench(), name, None)
    assert bench.legs == (3 if name != "legs" else 4)


def test_what_is_no_toml_is_one_sentence_and_the_usual_settings():
    for text in ("[bench\nlegs = 3", "legs == 3", "\x00", "[" * 5000, "legs = " + "9" * 5000):
        found, refusals = parse_tables(text)
        assert found == {}
        assert len(refusals) == 1
        assert refusals[0].startswith("the settings cannot be read: ")


def test_a_byte_order_mark_and_foreign_line_ends_are_read():
    assert parse_tables("\ufeff[bench]\r\nlegs = 3\r\n") == ({"bench": {"legs": 3}}, ())


def test_a_loose_value_where_a_table_belongs_is_refused():
    bench, refusals = read_table(BENCH, 7)
    assert (bench, refusals) == (Bench(), ("bench = 7 is not a table; write [bench] above it",))


def test_an_unknown_table_is_refused_with_the_nearest_known_one():
    assert unknown_tables(["bench", "bensh"], ["bench", "lamp"]) == (
        "[bensh] is not known in the settings file; did you mean bench?",
    )


def test_what_is_written_reads_back_the_same():
    strings = tuple(OpenString.named(name) for name in ("C3", "G3", "Bb3"))
    bench = Bench(333.25, 5, Wood.SPRUCE, True, 'a "b" \\', strings)
    found, refusals = parse_tables(table_text(BENCH, bench))
    assert refusals == ()
    assert read_table(BENCH, found["bench"]) == (bench, ())


def test_the_page_to_edit_reads_as_the_usual_bench_with_and_without_its_marks():
    page = commented_table(BENCH)
    assert read_table(BENCH, parse_tables(page)[0]["bench"]) == (Bench(), ())
    lines = [line.removeprefix("# ") if " = " in line else line for line in page.splitlines()]
    assert read_table(BENCH, parse_tables("\n".join(lines))[0]["bench"]) == (Bench(), ())


def test_what_is_typed_is_what_is_written():
    assert BENCH.key("height_mm").typed("450.5") == 450.5
    assert BENCH.key("legs").typed("3") == 3
    assert BENCH.key("wood").typed("spruce") is Wood.SPRUCE
    assert BENCH.key("padded").typed("true") is True
    with pytest.raises(SettingError, match="did you mean 450"):
        BENCH.key("height_mm").typed("45")
    with pytest.raises(SettingError, match='padded = "maybe" is not true or false'):
        BENCH.key("padded").typed("maybe")


anything = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=5,
)


@settings(suppress_health_check=[HealthCheck.too_slow])  # the first text drawn builds a table of characters
@given(st.dictionaries(st.sampled_from([key.name for key in BENCH.keys] + ["stray"]), anything))
def test_whatever_stands_in_a_table_is_read_or_refused_in_one_line(found):
    bench, refusals = read_table(BENCH, found)
    kept = [key for key in BENCH.keys if key.name not in found]
    assert all(getattr(bench, key.name) == key.default for key in kept)
    assert len(refusals) <= len(found)
    assert all("\n" not in refusal for refusal in refusals)


@given(st.text())
def test_whatever_a_file_holds_is_read_or_refused(text):
    found, refusals = parse_tables(text)
    assert not (found and refusals)
