"""Tables: printed, and written as Markdown and CSV with the versions and the machine they came from."""

import csv
import platform
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.bench import summary
from tests.bench.peers import PEERS, version

ROOT = Path(__file__).parent.parent.parent


@dataclass(frozen=True)
class Table:
    """Figures of one row of the goals."""

    name: str  # also the file's, "settled"
    title: str
    goal: str
    columns: tuple[str, ...]
    rows: tuple[tuple[object, ...], ...]
    gross: tuple[str, ...] = ()  # gross losses found, a sentence each; the quick form fails on them

    def markdown(self) -> str:
        cells = [[shown(c) for c in row] for row in self.rows]
        head = f"| {' | '.join(self.columns)} |\n|{'---|' * len(self.columns)}"
        body = "\n".join(f"| {' | '.join(row)} |" for row in cells)
        return f"### {self.title}\n\nGoal: {self.goal}\n\n{head}\n{body}\n"

    def write(self, folder: Path, measured: str) -> None:
        """As `<name>.csv` and `<name>.md`, the latter with a line on how it was measured."""
        (folder / f"{self.name}.md").write_text(f"{self.markdown()}\n{measured}\n")
        with (folder / f"{self.name}.csv").open("w", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow(self.columns)
            writer.writerows([shown(c) for c in row] for row in self.rows)


def shown(value: object) -> str:
    """A cell: three significant digits, a dash for what is unknown."""
    if value is None:
        return "-"
    if isinstance(value, float | np.floating):
        if np.isnan(value):
            return "-"
        return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    return str(value)


def share(part: int, whole: int) -> str:
    """A share in per cent, with the count behind it."""
    return f"{100.0 * part / whole:.2f} % ({part}/{whole})" if whole else "-"


def median(values: list[float]) -> float | None:
    return float(np.median(values)) if values else None


def percentile(values: list[float], percent: float) -> float | None:
    return float(np.percentile(values, percent)) if values else None


def milliseconds(seconds: float | None) -> int | None:
    return None if seconds is None else round(1000.0 * seconds)


def measured(command: str) -> str:
    """How a table came about."""
    return f"Measured by `{command}` at commit {_commit()}."


def write_page(folder: Path, order: Sequence[str]) -> None:
    """All tables that lie in the folder on one page, in the given order, then the pictures."""
    opening = "\n".join(f"{i}. {line}" for i, line in enumerate(summary.lines(folder), start=1))
    page = [
        "# The benchmark",
        opening,
        "The tables behind these lines, and more, follow; those of another commit are of another tracker.",
        machine(),
    ]
    page.append(
        "Constants of the tracker were chosen on seeds below 10000 and on recorded takes a, b, rr1; here are"
        " seeds from 10000 up and takes c, d and rr2. Recorded plucks: a double bass (D. Smolken, 2013), also"
        " played two and four times as fast, and a guitar (Karoryfer, 2014); CC0 1.0, one player each."
    )
    page += [
        (folder / f"{name}.md").read_text().rstrip() for name in order if (folder / f"{name}.md").exists()
    ]
    page += [f"![{p.stem.replace('_', ' ')}]({p.name})" for p in sorted(folder.glob("*.png"))]
    (folder / "README.md").write_text("\n\n".join(page) + "\n")


def machine() -> str:
    """What the figures were measured on and with, as Markdown."""
    packages = sorted({"numpy", *(p for p, _ in PEERS.values() if p)})
    with_versions = ", ".join(f"{p} {version(p) or 'absent'}" for p in packages)
    return (
        f"Measured on {_processor()}, {platform.system()}, Python "
        f"{platform.python_version()}, one thread, with {with_versions}. "
        "McLeod, product spectrum and FFT peak are written here from their papers."
    )


def _processor() -> str:
    for line in Path("/proc/cpuinfo").read_text().splitlines() if Path("/proc/cpuinfo").exists() else []:
        if line.startswith("model name"):
            return line.split(":", 1)[1].strip()
    return platform.processor() or platform.machine()


def _commit() -> str:
    done = subprocess.run(
        ["git", "-C", str(ROOT), "describe", "--always", "--dirty"],
        capture_output=True,
        text=True,
        check=False,
    )
    return done.stdout.strip() or "unknown"
