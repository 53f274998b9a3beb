"""`wallpeg lessons` runs simulated lessons in a closed loop and prints what came of them."""

import argparse
import json
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from multiprocessing import Pool
from pathlib import Path

import numpy as np

from demo.lessons.cells import Cell, Hearing, PegRule, Readings, Summary, Told, all_cells, lesson, played
from demo.lessons.lesson import SimLesson
from demo.lessons.search import Found, for_minutes, search, trial_of
from demo.mechanics.build import Strings
from demo.mechanics.starts import Start
from demo.players.characters import CHARACTERS
from demo.practice_players import PRACTICE_PLAYERS
from device.commands.practice_lessons import practice_lessons
from device.errors import UsageError
from device.practice.table import PRACTICES
from dsp import Samples

MOST_RUNS = 10_000  # a cell; some hours
MOST_MINUTES = 600.0
MOST_PROCESSES = 64
TOLD = 5  # lessons of a search that are told at its end


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
    parser.add_argument(
        "--practice",
        choices=[practice.name for practice in PRACTICES],
        help="not tuning but this practice: the share of notes that was judged right",
    )
    parser.add_argument(
        "--recorded", type=Path, metavar="DIR", help="real readings of recorded plucks in place of synthetic"
    )
    parser.add_argument("--start", choices=[s.value for s in Start], action="append", help="only this start")
    players = (*CHARACTERS, *PRACTICE_PLAYERS)
    parser.add_argument("--player", choices=players, action="append", help="only this player")
    parser.add_argument("--guide", choices=[g.value for g in Told], help="only this guide")
    parser.add_argument("--pegs", choices=[p.value for p in PegRule], help="only this rule")
    parser.add_argument(
        "--strings", choices=[s.value for s in Strings], help="only such cores (usual: drawn)"
    )
    parser.add_argument("--check", action="store_true", help="status 1 if a string broke that must not break")
    parser.add_argument(
        "--story", type=int, metavar="RUN", help="tell run number RUN of the row, step by step"
    )
    parser.add_argument(
        "--search", type=float, metavar="MINUTES", help="look for a lesson that breaks a string"
    )
    parser.add_argument(
        "--processes", type=int, metavar="N", help="play in so many at a time (usual: one a processor)"
    )
    parser.add_argument("--trial", metavar="JSON", help="tell a lesson that --search found, step by step")


def main(arguments: argparse.Namespace) -> int:
    """Play the lessons; 0 when all were played, 1 when a string broke that must not."""
    if not 1 <= arguments.runs <= MOST_RUNS:
        raise UsageError(f"--runs {arguments.runs} is outside 1 to {MOST_RUNS}; 20 takes minutes, 200 longer")
    if arguments.processes is not None and not 1 <= arguments.processes <= MOST_PROCESSES:
        raise UsageError(f"--processes {arguments.processes} is outside 1 to {MOST_PROCESSES}; 2 works")
    if arguments.practice is not None:
        return practice_lessons(arguments)
    if arguments.search is not None:
        return _search(arguments)
    if arguments.trial is not None:
        return _tell(trial_of(arguments.trial).lesson())
    cells = [cell for cell in _cells(arguments) if _wanted(cell, arguments)]
    if arguments.story is not None:
        return _tell(lesson(cells[0], arguments.seed, arguments.story, _hearing(arguments)))
    hearing = _hearing(arguments)
    if not arguments.json:
        print(LESSONS_HEAD)
    rows = []
    for row in _played(cells, arguments, hearing):
        print(json.dumps(row.fields()) if arguments.json else line(row), flush=True)
        rows.append(row)
    return _checked(rows) if arguments.check else 0


LESSONS_HEAD = (
    f"{'start':<20}{'player':<29}{'guide':<12}{'pegs':<8}{'in tune':>8}{'handed':>8}"
    f"{'endless':>8}{'false':>8}{'broken':>7}{'stopped':>8}{'nearest':>8}{'plucks':>12}{'seconds':>12}{'over':>6}{'danger':>7}"
    f"{'steady':>7}{'often':>6}{'stale':>6}"
)


def line(row: Summary) -> str:
    """A summary as a line under `LESSONS_HEAD`: shares in percent; plucks and seconds as median / 95 %.

    Of those falsely told that all is right, so many had a sounding heard wrong and told as if right.
    """
    cell = row.cell
    plucks = f"{row.plucks_median:g} / {row.plucks_95:g}"
    false = f"{row.falsely_all_right} / {row.misled}"
    seconds = f"{row.seconds_median:.0f} / {row.seconds_95:.0f}"
    return (
        f"{cell.start.value:<20}{cell.player:<29}{cell.guide.value:<12}{cell.pegs.value:<8}"
        f"{row.in_tune_share:>8.0%}{row.handed_over_share:>8.0%}{row.never_ended:>8}{false:>8}"
        f"{row.broken:>7}{row.stopped_before_break:>8}{row.nearest:>8.2f}{plucks:>12}{seconds:>12}"
        f"{row.overshoots:>6}{row.dangerous:>7}{row.steady_share:>7.0%}{row.changed_often:>6}{row.stale:>6}"
    )


def _cells(arguments: argparse.Namespace) -> tuple[Cell, ...]:
    strings = None if arguments.strings is None else Strings(arguments.strings)
    return tuple(Cell(c.start, c.player, c.guide, c.pegs, strings) for c in all_cells())


def _hearing(arguments: argparse.Namespace) -> Hearing:
    if arguments.recorded is not None and not arguments.recorded.is_dir():
        raise UsageError(f"--recorded {arguments.recorded} is no folder: name one that holds recorded plucks")
    real = arguments.recorded is not None or arguments.readings == Readings.REAL.value
    return Hearing(Readings.REAL if real else Readings.TABLE, arguments.recorded, read_sound)


def read_sound(path: Path) -> tuple[Samples, int]:
    """Samples, mono, and sample rate of a sound file."""
    from device.parts.recording import open_recording  # noqa: PLC0415 - soundfile, only here

    recording = open_recording(path)
    return np.concatenate(list(recording.blocks())), recording.sample_rate_hz


def _must_not_break(cell: Cell) -> bool:
    """Whether it is the box that is heeded."""
    return cell.guide is Told.COACH and CHARACTERS[cell.player].heeds


def _checked(rows: Sequence[Summary]) -> int:
    """Status 1 where somebody who heeds the box's pictures broke a string."""
    heeding = [row for row in rows if _must_not_break(row.cell)]
    broken = sum(row.broken for row in heeding)
    print(f"{sum(r.runs for r in heeding)} lessons of players who heed the pictures: {broken} strings broke")
    return 1 if broken else 0


def _played(cells: Sequence[Cell], arguments: argparse.Namespace, hearing: Hearing) -> Iterator[Summary]:
    """Play the cells on all processors; results in order, progress on stderr where it is a terminal."""
    play = partial(played, seed=arguments.seed, runs=arguments.runs, hearing=hearing)
    workers = min(arguments.processes or os.cpu_count() or 1, len(cells))
    broken = 0
    with _undisturbed():
        pool = Pool(workers, initializer=_go_on)
    with pool:  # leaving it ends the workers
        for done, result in enumerate(pool.imap(play, cells), start=1):
            broken += result.broken if _must_not_break(result.cell) else 0
            if sys.stderr.isatty():
                so_far = (
                    f"{done} of {len(cells)} rows, {done * arguments.runs} lessons, {broken} strings broke"
                )
                print(f"\r{so_far}\x1b[K", end="\r", file=sys.stderr, flush=True)
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


def _search(arguments: argparse.Namespace) -> int:
    """Search on all processors; 1 when a lesson was found that broke a string."""
    if not 0.0 < arguments.search <= MOST_MINUTES:
        raise UsageError(f"--search {arguments.search:g} is outside 0 to {MOST_MINUTES:g} minutes; 10 works")
    workers = arguments.processes or os.cpu_count() or 1
    seeds = [arguments.seed * 1000 + worker for worker in range(workers)]
    with _undisturbed():
        pool = Pool(len(seeds), initializer=_go_on)
    with pool:
        results = pool.map(partial(_searched, minutes=arguments.search), seeds)
    best = sorted((found for _, kept in results for found in kept), reverse=True)
    broken = sum(found.outcome.broken > 0 for found in best)
    lessons = sum(count for count, _ in results)
    print(f"{lessons} lessons searched; strings broken in {broken} of the {len(best)} that came nearest")
    for found in best[:TOLD]:
        print(f"{found.outcome.nearest:.2f} of the breaking load: --trial '{found.trial.written()}'")
    return 1 if broken else 0


def _searched(seed: int, minutes: float) -> tuple[int, list[Found]]:
    return search(seed, for_minutes(minutes))


def _tell(told: SimLesson) -> int:
    """One lesson, step by step."""
    outcome = told.run()
    for at, shown, action in told.story:
        print(f"{at:7.1f} s  {shown:<70}  -> {action}")
    print(outcome)
    return 0
