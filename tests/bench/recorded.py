"""The recorded plucks to any tracker, for a quick look while it is being changed.

    python -m tests.bench.recorded --recorded DIR             # takes to choose by, a third of them, clean
    python -m tests.bench.recorded --recorded DIR --reported  # takes that choose nothing, all of them
    python -m tests.bench.recorded --recorded DIR --tracker my.module:Name --sets guitar --worst 10

A tracker is called as `dsp.PitchTracker` is: sample rate, lowest and highest pitch, all in Hz. Errors are in
cents against the pitch that the note settles on; `by 0.1 s` is of the notes above 140 Hz, lower ones have
time in proportion to their period; `2 se` is the share of errors inside two stated standard errors, the
truth's own 1.5 cents added; octave, sub(-harmonic), other and doubted count notes with any such reading.
"""

import argparse
import importlib
import sys
import time
from pathlib import Path

from dsp import PitchTracker
from tests.bench.recorded_conditions import CONDITIONS
from tests.bench.recorded_figures import COLUMNS, Factory, figures
from tests.bench.recorded_notes import SETS, missing, notes
from tests.bench.report import shown

SUBSET = 3  # every third note in the quick form


def main() -> int:
    """Print a line for each set and condition."""
    arguments = _arguments()
    reason = missing(arguments.recorded)
    if reason:
        print(f"no recorded plucks: {reason}", file=sys.stderr)
        return 0
    factory, every = _factory(arguments.tracker), arguments.every or (1 if arguments.reported else SUBSET)
    print(" | ".join(COLUMNS))
    for name in arguments.sets.split(","):
        chosen = notes(arguments.recorded, name, reported=arguments.reported, every=every)
        for condition in arguments.conditions.split(","):
            start = time.process_time()
            made = figures([CONDITIONS[condition](note) for note in chosen], factory)
            print(" | ".join(shown(cell) for cell in made.row(f"{name}, {condition}")), flush=True)
            for _, where in sorted(made.worst, reverse=True)[: arguments.worst]:
                print(f"    {where}")
            print(f"    {time.process_time() - start:.1f} s of processor", file=sys.stderr)
    return 0


def _factory(where: str | None) -> Factory:
    if where is None:
        return PitchTracker
    module, name = where.split(":")
    factory: Factory = getattr(importlib.import_module(module), name)
    return factory


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.bench.recorded", description=__doc__.splitlines()[0]
    )
    parser.add_argument("--recorded", type=Path, help="folder of bass_plucked and guitar_plucked")
    parser.add_argument(
        "--reported", action="store_true", help="takes that choose nothing, instead of the others"
    )
    parser.add_argument(
        "--every", type=int, help=f"use each n-th note (default {SUBSET}, all when reporting)"
    )
    parser.add_argument("--sets", default=",".join(SETS), help="some of: %(default)s")
    parser.add_argument(
        "--conditions", default="clean", help=f"some of: {','.join(CONDITIONS)}".replace("%", "%%")
    )
    parser.add_argument("--tracker", help="MODULE:NAME of what builds a tracker (default: the project's)")
    parser.add_argument("--worst", type=int, default=0, help="name so many of the least honest readings")
    return parser.parse_args()


if __name__ == "__main__":
    sys.exit(main())
