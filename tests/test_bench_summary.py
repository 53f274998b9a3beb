"""The lines that open the benchmark's results say what its tables say."""

import csv

from tests.bench.summary import lines


def table(folder, name: str, *rows: dict[str, object]):
    with (folder / f"{name}.csv").open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)


def method(name: str, answered: int, wrong: int, median: float, most: float) -> dict[str, object]:
    cells = {"answered %": answered, "wrong": wrong, "median": median, "95 %": most}
    row: dict[str, object] = {"sounds": "guitar", "method": name}
    return row | {f"{what} {t} s": v for t in ("0.1", "0.2", "0.3", "0.6") for what, v in cells.items()}


def test_without_tables_nothing_is_said(tmp_path):
    assert lines(tmp_path) == []


def test_a_method_that_is_ahead_is_named_unless_it_is_wrong_or_answers_less(tmp_path):
    ours = method("Wallpeg", 90, 0, 2.0, 8.0)
    table(tmp_path, "recorded_methods", ours, method("A", 95, 0, 1.9, 9.0), method("B", 95, 1, 0.1, 0.2),
          method("C", 80, 0, 0.1, 0.2), method("D", 90, 0, 2.1, 8.1))  # fmt: skip
    (said,) = lines(tmp_path)
    assert "in 4 of 4 comparisons: guitar at 0.1 s (A);" in said
    assert "B" not in said.split(":")[1]
    assert "C" not in said.split(":")[1]


def test_what_is_lost_and_taken_is_counted_over_all_sets(tmp_path):
    columns = ("sounds", "scenes", "plucks", "not heard", "not followed", "neighbours", "taken for ours")
    rows = [
        dict(zip(columns, row, strict=True)) for row in (("a", 1, 8, 1, 2, 2, 0), ("b", 1, 8, 0, 0, 2, 1))
    ]
    table(tmp_path, "recorded_equal", *rows)
    (said,) = lines(tmp_path)
    assert "13 of 16 followed; 1 of 4 softer neighbours" in said


def test_the_greatest_loss_in_poor_conditions_is_named(tmp_path):
    columns = ("sounds", "condition", "notes", "by 0.15 s %", "octave", "sub", "other")
    rows = [
        ("a", "clean", 4, 100, 0, 0, 0),
        ("a", "a small room", 4, 75, 1, 0, 0),
        ("a", "22 kHz", 4, 95, 0, 1, 0),
    ]
    table(tmp_path, "recorded_conditions", *[dict(zip(columns, row, strict=True)) for row in rows])
    (said,) = lines(tmp_path)
    assert "2 wrong of 8 notes" in said
    assert "at most 25 % fewer heard than clean (a, a small room)" in said
