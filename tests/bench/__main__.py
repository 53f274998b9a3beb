"""Run the benchmark: tests/bench/run [--quick] [--rows A,B] [--scale X] [--recorded DIR] [--out DIR]."""

import argparse
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.bench import (
    dearest,
    hours,
    plots,
    rows_bowed,
    rows_far,
    rows_fonts,
    rows_low,
    rows_neighbour,
    rows_notes,
    rows_plucks,
    rows_realistic,
    rows_recorded,
    rows_room,
    rows_sampled,
    rows_settled,
    rows_time,
    rows_trust,
    rows_turning,
    rows_unplucked,
    rows_unseen,
)
from tests.bench.common import Sizes
from tests.bench.cost import cost
from tests.bench.report import Table, measured, write_page

ROWS: dict[str, Callable[[Sizes], list[Table]]] = {
    "recorded": rows_recorded.recorded,
    "beside": rows_recorded.beside,
    "realistic": rows_realistic.realistic,
    "settled": rows_settled.settled,
    "plucks": rows_plucks.plucks,
    "variety": rows_plucks.variety,
    "another": rows_settled.another_generator,
    "time": rows_time.time_to_reading,
    "noises": rows_room.noises,
    "false": hours.false_readings,
    "neighbour": rows_neighbour.neighbour,
    "honesty": rows_trust.honesty,
    "doubt": rows_trust.octave_doubt,
    "drift": rows_turning.drift,
    "far": rows_far.far_off,
    "bowed": rows_bowed.bowing,
    "low": rows_low.low,
    "unseen": rows_unseen.unseen,
    "sampled": rows_sampled.sampled,
    "unplucked": rows_unplucked.unplucked,
    "fonts": rows_fonts.fonts,
    "notes": rows_notes.notes,
    "cost": cost,
    "dearest": dearest.dearest,
}
# names of all tables, in the order of the page
ORDER = (
    "recorded",
    "recorded_methods",
    "recorded_conditions",
    "recorded_equal",
    "recorded_shift",
    "realistic",
    "settled",
    "plucks",
    "methods",
    "variety",
    "another_generator",
    "time",
    "time_methods",
    "noises",
    "noises_methods",
    "false_readings",
    "unplucked",
    "neighbour",
    "honesty",
    "octave_doubt",
    "drift",
    "still",
    "far_off",
    "outside_range",
    "bowed",
    "low",
    "low_time",
    "unseen",
    "sampled",
    "fonts",
    "fonts_methods",
    "notes",
    "cost",
    "cost_methods",
    "dearest",
)
QUICK_SCALE = 0.02
QUICK_ROWS = "recorded,beside,realistic,settled,plucks,another,noises,false,low,far"


def main() -> int:
    arguments = _arguments()
    chosen = arguments.rows.split(",")
    unknown = [r for r in chosen if r not in ROWS]
    if unknown:
        print(f"no row is called {unknown[0]!r}; the rows are {', '.join(ROWS)}", file=sys.stderr)
        return 2
    arguments.out.mkdir(parents=True, exist_ok=True)
    sizes = Sizes(scale=arguments.scale, recorded=arguments.recorded)
    given = " --recorded DIR" if arguments.recorded else ""
    how = measured(f"tests/bench/run --rows {arguments.rows} --scale {arguments.scale:g}{given}")
    tables: dict[str, Table] = {}
    for row in chosen:
        start = time.monotonic()
        for table in ROWS[row](sizes):
            tables[table.name] = table
            table.write(arguments.out, how)
            print("\n" + table.markdown(), flush=True)
        sizes.progress(f"{row}: {time.monotonic() - start:.0f} s")
    plots.draw(arguments.out)
    write_page(arguments.out, ORDER)
    print(f"tables and pictures are in {arguments.out}", file=sys.stderr)
    gross = [sentence for table in tables.values() for sentence in table.gross]
    for sentence in gross:
        print(f"gross loss: {sentence}", file=sys.stderr)
    return 1 if gross else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="tests/bench/run", description=__doc__)
    parser.add_argument(
        "--quick", action="store_true", help="a small run for every change, under two minutes"
    )
    parser.add_argument("--rows", help=f"some of: {','.join(ROWS)}")
    parser.add_argument("--recorded", type=Path, help="folder of recorded plucks (none: left out, and said)")
    parser.add_argument(
        "--scale", type=float, help="1 is the size of the reported figures, 10 ten times that"
    )
    parser.add_argument(
        "--out", type=Path, default=Path(__file__).parent / "results", help="where tables and plots go"
    )
    arguments = parser.parse_args()
    arguments.rows = arguments.rows or (QUICK_ROWS if arguments.quick else ",".join(ROWS))
    arguments.scale = arguments.scale or (QUICK_SCALE if arguments.quick else 1.0)
    if arguments.out is None:
        kept = Path(__file__).parent / "results"
        arguments.out = Path(tempfile.mkdtemp(prefix="wallpeg-bench-")) if arguments.quick else kept
    return arguments


if __name__ == "__main__":
    sys.exit(main())
