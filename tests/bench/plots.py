"""Pictures from the tables in a folder: error against noise, methods, time to a reading, cost."""

import csv
from collections.abc import Sequence
from pathlib import Path

import matplotlib as mpl

mpl.use("Agg")
from matplotlib import pyplot

SIZE = (7.0, 3.6)  # inches; at 100 dots an inch small enough to keep
Rows = list[dict[str, str]]


def draw(folder: Path) -> None:
    """Draw what the CSV files at hand allow."""
    if rows := _rows(folder / "settled.csv"):
        _error_against_noise(rows, folder / "error_against_noise.png")
    if rows := _rows(folder / "methods.csv"):
        label = "95 % of errors below, cents, window of 0.3 s (right octaves only)"
        _bars(rows, "95 % 0.3 s", label, "linear", folder / "methods.png")
    if rows := _rows(folder / "time_methods.csv"):
        label = "ms from the pluck to within 5 cents for good, median"
        _bars(rows, "5 cents, ms", label, "linear", folder / "time.png")
    if rows := _rows(folder / "cost_methods.csv"):
        _bars(rows, "CPU s per s", "CPU seconds per second of audio", "log", folder / "cost.png")


def _rows(path: Path) -> Rows:
    if not path.exists():
        return []
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def _number(cell: str) -> float | None:
    try:
        return float(cell)
    except ValueError:
        return None


def _error_against_noise(rows: Rows, path: Path) -> None:
    _, axes = pyplot.subplots(figsize=SIZE)
    strings = list(dict.fromkeys(row["string"] for row in rows))
    for colour, name in zip(("C0", "C1", "C2", "C3"), strings, strict=False):
        of_string = [row for row in rows if row["string"] == name]
        noise = [float(row["SNR dB"]) for row in of_string]
        for column, style, word in (("RMS 0.3 s", "o-", "reached"), ("bound 0.3 s", "--", "bound")):
            values = [_number(row[column]) for row in of_string]
            axes.semilogy(noise, values, style, color=colour, label=f"{name} {word}")
    axes.set(xlabel="signal-to-noise ratio, dB", ylabel="RMS error after 0.3 s, cents")
    axes.set_title("Settled tones in white noise, and the Cramer-Rao bound")
    axes.legend(fontsize=7, ncol=2)
    axes.grid(visible=True, alpha=0.3)
    _save(path)


def _bars(rows: Rows, column: str, label: str, scale: str, path: Path) -> None:
    _, axes = pyplot.subplots(figsize=SIZE)
    names = [row["method"] for row in rows][::-1]
    values = [_number(row[column]) for row in rows][::-1]
    bars = axes.barh(names, [value or 0.0 for value in values])
    axes.bar_label(bars, labels=_labels(rows[::-1], values, column), fontsize=7, padding=2)
    axes.set(xlabel=label, xscale=scale)
    axes.margins(x=0.15)
    _save(path)


def _labels(rows: Rows, values: Sequence[float | None], column: str) -> list[str]:
    return [row[column] if value is None else f"{value:.3g}" for row, value in zip(rows, values, strict=True)]


def _save(path: Path) -> None:
    pyplot.tight_layout()
    pyplot.savefig(path, dpi=100)
    pyplot.close("all")
