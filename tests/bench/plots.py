"""Three pictures from the tables: error against noise, time to a reading, cost."""

from pathlib import Path

import matplotlib as mpl

mpl.use("Agg")
from matplotlib import pyplot

from tests.bench.report import Table

SIZE = (7.0, 3.6)  # inches; at 100 dots an inch small enough to keep


def draw(tables: dict[str, Table], folder: Path) -> list[Path]:
    """Draw what the tables at hand allow; returns the files written."""
    made = []
    if "settled" in tables:
        made.append(_error_against_noise(tables["settled"], folder / "error_against_noise.png"))
    if "methods" in tables:
        made.append(_bars(tables["methods"], 6, "median cents off, 0.3 s", folder / "methods.png"))
    if "time_methods" in tables:
        made.append(_bars(tables["time_methods"], 2, "ms to within 5 cents", folder / "time.png"))
    if "cost_methods" in tables:
        made.append(_bars(tables["cost_methods"], 1, "CPU seconds per second of audio", folder / "cost.png"))
    return made


def _error_against_noise(table: Table, path: Path) -> Path:
    figure, axes = pyplot.subplots(figsize=SIZE)
    at_rms, at_bound = table.columns.index("RMS 0.3 s"), table.columns.index("bound 0.3 s")
    for colour, name in zip(("C0", "C1", "C2", "C3"), sorted({str(r[1]) for r in table.rows}), strict=False):
        rows = [r for r in table.rows if r[1] == name]
        noise = [float(str(r[0])) for r in rows]
        axes.semilogy(noise, [r[at_rms] for r in rows], "o-", color=colour, label=f"{name} reached")
        axes.semilogy(noise, [r[at_bound] for r in rows], "--", color=colour, label=f"{name} bound")
    axes.set(xlabel="signal-to-noise ratio, dB", ylabel="RMS error after 0.3 s, cents", title=table.title)
    axes.legend(fontsize=7, ncol=2)
    axes.grid(visible=True, alpha=0.3)
    return _saved(figure, path)


def _bars(table: Table, column: int, label: str, path: Path) -> Path:
    figure, axes = pyplot.subplots(figsize=SIZE)
    rows = [r for r in table.rows if isinstance(r[column], int | float)]
    bars = axes.barh([str(r[0]) for r in rows][::-1], [r[column] for r in rows][::-1])
    axes.bar_label(bars, fmt="%.3g", fontsize=7, padding=2)
    axes.set(xlabel=label, title=table.title, xscale="log")
    axes.margins(x=0.15)
    return _saved(figure, path)


def _saved(figure: object, path: Path) -> Path:
    figure.tight_layout()  # type: ignore[attr-defined]
    figure.savefig(path, dpi=100)  # type: ignore[attr-defined]
    pyplot.close("all")
    return path
