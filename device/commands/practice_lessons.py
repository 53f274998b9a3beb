"""`wallpeg lessons --practice NAME` prints what share of each player's notes was judged right."""

import argparse
import json

from demo.practice_lessons import PracticeRow, practice_row
from demo.practice_players import PRACTICE_PLAYERS

_HEAD = f"{'player':<14}{'runs':>6}{'with real sound':>17}{'notes':>8}{'judged right':>14}{'extra':>7}"


def practice_lessons(arguments: argparse.Namespace) -> int:
    """Play them; 0 when all were played."""
    real = True if arguments.readings == "real" else None
    if not arguments.json:
        print(_HEAD)
    for player in PRACTICE_PLAYERS:
        if arguments.player and player not in arguments.player:
            continue
        row = practice_row(arguments.practice, player, arguments.runs, arguments.seed, real=real)
        print(json.dumps(row.fields()) if arguments.json else _practice_line(row), flush=True)
    return 0


def _practice_line(row: PracticeRow) -> str:
    counts = f"{row.player:<14}{row.runs:>6}{row.real_runs:>17}{row.wanted:>8}"
    return f"{counts}{row.right_share:>14.0%}{row.extra:>7}"
