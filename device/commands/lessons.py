"""`wallpeg lessons`: simulated lessons in a closed loop, as a table of what came of them."""

import argparse
import json
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from multiprocessing import Pool

from demo.cells import Cell, PegRule, Readings, Summary, Told, all_cells, lesson, played
from demo.players import CHARACTERS
from demo.starts import Start
from device.errors import UsageError

MOST_RUNS = 10_000  # a cell; some hours


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `wallpeg lessons`."""
    parser.add_argument("--runs", type=int, default=20, metavar="N", help="lessons a row (usual: 20)")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="other lessons (usual: 1)")
    parser.add_argument("--json", action="store_true", help="one JSON object a row")
    parser.add_argument(
        "--readings",
        choices=[r.value for r in Readings],
        default=Readings.TABLE.value,
        help="real: through the whole signal path, which takes hours for all rows; table: drawn from the"
        " table of its measured errors (usual: table)",
    )
    parser.add_argument("--start", choices=[s.value for s in Start], action="append", help="only this start")
    parser.add_argument("--player", choices=list(CHARACTERS), action="append", help="only this player")
    parser.add_argument("--guide", choices=[g.value for g in Told], help="only this guide")
    parser.add_argument("--pegs", choices=[p.value for p in PegRule], help="only this rule")
    parser.add_argument(
        "--story", type=int, metavar="RUN", help="tell run number RUN of the row, step by step"
    )


def main(arguments: argparse.Namespace) -> int:
    """Play the lessons; 0 when all were played."""
    if not 1 <= arguments.runs <= MOST_RUNS:
        raise UsageError(f"--runs {arguments.runs} is outside 1 to {MOST_RUNS}; 20 takes minutes, 200 longer")
    cells = [cell for cell in all_cells() if _wanted(cell, arguments)]
    if arguments.story is not None:
        return _tell(cells[0], arguments)
    if not arguments.json:
        print(TABLE_HEAD)
    for summary in _played(cells, arguments):
        print(json.dumps(summary.fields()) if arguments.json else line(summary), flush=True)
    return 0


TABLE_HEAD = (
    f"{'start':<15}{'player':<21}{'guide':<12}{'pegs':<8}{'in tune':>8}{'handed':>8}"
    f"{'plucks':>12}{'seconds':>14}{'over':>6}{'broken':>7}{'stopped':>8}{'dangerous':>10}"
)


def line(row: Summary) -> str:
    """A summary as a line under `HEAD`: shares in percent; plucks and seconds as median / 95 %."""
    cell = row.cell
    plucks = f"{row.plucks_median:g} / {row.plucks_95:g}"
    seconds = f"{row.seconds_median:.0f} / {row.seconds_95:.0f}"
    dangerous = "-" if row.dangerous is None else f"{row.dangerous}"
    return (
        f"{cell.start.value:<15}{cell.player:<21}{cell.guide.value:<12}{cell.pegs.value:<8}"
        f"{row.in_tune_share:>8.0%}{row.handed_over_share:>8.0%}{plucks:>12}{seconds:>14}"
        f"{row.overshoots:>6}{row.broken:>7}{row.stopped_before_break:>8}{dangerous:>10}"
    )


def _played(cells: Sequence[Cell], arguments: argparse.Namespace) -> Iterator[Summary]:
    """Play the cells on all processors; results in order, progress on stderr where it is a terminal."""
    play = partial(played, seed=arguments.seed, runs=arguments.runs, readings=Readings(arguments.readings))
    workers = min(os.cpu_count() or 1, len(cells))
    with _undisturbed():
        pool = Pool(workers, initializer=_go_on)
    with pool:  # leaving it ends the workers
        for done, result in enumerate(pool.imap(play, cells), start=1):
            if sys.stderr.isatty():
                print(f"\r{done} of {len(cells)} rows\x1b[K", end="\r", file=sys.stderr, flush=True)
            yield result


def _go_on() -> None:
    """A worker takes no notice of Ctrl-C: the command itself ends it, and says what there is to say."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


@contextmanager
def _undisturbed() -> Iterator[None]:
    """Ctrl-C waits while the workers start, so that none of them meets it half-made."""
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _wanted(cell: Cell, arguments: argparse.Namespace) -> bool:
    return (
        (not arguments.start or cell.start.value in arguments.start)
        and (not arguments.player or cell.player in arguments.player)
        and arguments.guide in {None, cell.guide.value}
        and arguments.pegs in {None, cell.pegs.value}
    )


def _tell(cell: Cell, arguments: argparse.Namespace) -> int:
    """One lesson of a row, step by step."""
    played_once = lesson(cell, arguments.seed, arguments.story, Readings(arguments.readings))
    outcome = played_once.run()
    for at, shown, action in played_once.story:
        print(f"{at:7.1f} s  {shown:<70}  -> {action}")
    print(outcome)
    return 0
