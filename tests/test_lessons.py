"""Simulated lessons: the closed loop of instrument, player, readings and coach.

Shares of a few runs are loose here; `wallpeg lessons --runs 200` measures them.
"""

import json
import os
import random
import signal
import statistics
import subprocess
import sys
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from demo.actions import Pluck
from demo.cells import Cell, PegRule, Readings, Told, all_cells, lesson, played, staged
from demo.geometry import Shaft
from demo.instrument import errors
from demo.players import CHARACTERS
from demo.scenario import build_of
from demo.starts import Start, found
from demo.workshop import Build
from device.__main__ import main
from device.config.settings import FineTuners, Pegs, Settings, StringSet
from device.instrument.tuning_parts import Rotation
from dsp import Instrument

ROOT = Path(__file__).parent.parent
FIELDS = [
    *("start", "player", "guide", "pegs", "runs", "in_tune_share", "handed_over_share", "plucks_median"),
    *(
        "plucks_95",
        "seconds_median",
        "seconds_95",
        "overshoots",
        "broken",
        "stopped_before_break",
        "dangerous",
    ),
]
THREE_STARTS = (Start.FEW_CENTS, Start.COLD_ROOM, Start.SLACK_FIFTH)
OTHER = {Rotation.CLOCKWISE: Rotation.COUNTER_CLOCKWISE, Rotation.COUNTER_CLOCKWISE: Rotation.CLOCKWISE}


def cell(start, player, guide=Told.COACH, pegs=PegRule.ALLOWED):
    return Cell(start, player, guide, pegs)


class Opposite:
    """A coach with the opposite table: every rotation the other way round."""

    def __init__(self, guide):
        self.guide = guide

    @property
    def shown(self):
        shown = self.guide.shown
        return replace(shown, advice=replace(shown.advice, rotation=OTHER.get(shown.advice.rotation)))

    def take(self, event):
        self.guide.take(event)


def slackest(instrument, settings):
    off = errors(instrument, settings.targets)
    return min(off, key=lambda name: off[name])


def mirrored(instrument, name):
    """The same instrument with one peg put in from the other side."""
    strings = [
        replace(s, shaft=Shaft(tuple(-v for v in s.shaft.head))) if s.name == name else s
        for s in instrument.strings
    ]
    return replace(instrument, strings=tuple(strings))


def unchanged(_lesson):
    return None


def outcomes(row, runs, change=unchanged):
    found = []
    for run in range(runs):
        played_once = lesson(row, 7, run, Readings.TABLE)
        change(played_once)
        found.append(played_once.run())
    return found


def in_tune(found):
    return sum(outcome.in_tune for outcome in found) / len(found)


@pytest.mark.parametrize(
    "start",
    [
        Start.COLD_ROOM,
        pytest.param(Start.DRY_WEEK, marks=pytest.mark.heavy),
        pytest.param(Start.SLACK_FIFTH, marks=pytest.mark.heavy),
        pytest.param(Start.TONE_SHARP, marks=pytest.mark.heavy),
    ],
    ids=lambda s: s.value,
)
def test_a_coach_with_the_opposite_table_tunes_nothing_and_breaks_nothing(start):
    def opposite(lesson):
        lesson.guide = Opposite(lesson.guide)

    row = cell(start, "careful")
    assert in_tune(outcomes(row, 4)) >= 0.75
    wrong = outcomes(row, 5, opposite)
    assert in_tune(wrong) < 0.1
    assert not any(outcome.broken for outcome in wrong)


def test_one_mirrored_peg_spoils_the_lesson_and_breaks_nothing():
    def mirror(lesson):
        lesson.instrument = mirrored(lesson.instrument, slackest(lesson.instrument, lesson.settings))

    found = outcomes(cell(Start.SLACK_FIFTH, "careful"), 6, mirror)
    assert in_tune(found) < 0.1
    assert not any(outcome.broken for outcome in found)


@pytest.mark.parametrize("start", THREE_STARTS, ids=lambda s: s.value)
@pytest.mark.parametrize("player", CHARACTERS)
def test_no_player_is_sent_towards_a_broken_string(player, start):
    found = outcomes(cell(start, player), 1)
    assert sum(outcome.dangerous for outcome in found) == 0
    if player != "ignores-warnings":
        assert sum(outcome.broken for outcome in found) == 0


@pytest.mark.parametrize("player", ["careful", "hasty", "wrong-peg"])
def test_most_players_end_in_tune(player):
    assert in_tune(outcomes(cell(Start.FEW_CENTS, player), 8)) >= 0.85


def test_the_careful_player_needs_few_plucks_from_a_few_cents_off():
    """A median of at most three a string, the checking round included."""
    plucks = []
    for run in range(9):
        played_once = lesson(cell(Start.FEW_CENTS, "careful"), 3, run, Readings.TABLE)
        played_once.run()
        plucked = Counter(action.string for _, _, action in played_once.story if isinstance(action, Pluck))
        plucks += [plucked[name] for name in played_once.settings.targets]
    assert statistics.median(plucks) <= 3


OTHERS = {
    "viola": Settings(instrument=Instrument.VIOLA),
    "cello": Settings(instrument=Instrument.CELLO),
    "double bass": Settings(instrument=Instrument.DOUBLE_BASS),
    "left-handed violin": Settings(left_handed=True),
    "violin with one fine tuner": Settings(fine_tuners=FineTuners.HIGHEST),
    "violin with geared pegs": Settings(pegs=Pegs.GEARED),
    "left-handed cello": Settings(instrument=Instrument.CELLO, left_handed=True),
}


@pytest.mark.parametrize("start", [Start.DRY_WEEK, Start.SLACK_FIFTH], ids=lambda s: s.value)
@pytest.mark.parametrize("name", OTHERS)
def test_other_instruments_end_in_tune_too(name, start):
    settings = replace(OTHERS[name], pegs_by_grown_up=False)
    instrument = found(start, build_of(settings), settings.targets, random.Random(name))
    played_once = staged(cell(start, "careful"), settings, instrument, random.Random(3), Readings.TABLE)
    ended = played_once.run()
    assert ended.in_tune
    assert ended.dangerous == 0


@pytest.mark.parametrize("player", ["careful", "hasty", "wrong-peg"])
@pytest.mark.parametrize(
    "build",
    [Build(steel=True), Build(size="1/16"), Build(size="1/8", steel=True)],
    ids=["steel", "1/16", "both"],
)
def test_strings_several_times_as_touchy_as_assumed_are_not_endangered(build, player):
    """Steel cores everywhere, the smallest size, its size not told: far outside +-50 %."""
    settings = Settings(pegs_by_grown_up=False)
    for run in range(1):
        strings = random.Random(run)
        instrument = found(Start.DRY_WEEK, build, settings.targets, strings)
        row = cell(Start.DRY_WEEK, player)
        ended = staged(row, settings, instrument, random.Random(run), Readings.TABLE).run()
        assert (ended.dangerous, ended.broken) == (0, 0)


@pytest.mark.parametrize("start", Start, ids=lambda s: s.value)
def test_with_pegs_barred_what_is_not_in_tune_is_handed_over(start):
    found = outcomes(cell(start, "careful", pegs=PegRule.BARRED), 2)
    assert all(outcome.in_tune or outcome.handed_over for outcome in found)


def test_a_lesson_through_the_real_tracker_ends_in_tune():
    assert lesson(cell(Start.FEW_CENTS, "careful"), 1, 0, Readings.REAL).run().in_tune


@pytest.mark.heavy
@pytest.mark.parametrize("start", Start, ids=lambda s: s.value)
@pytest.mark.parametrize("player", CHARACTERS)
def test_no_advice_is_dangerous_through_the_real_tracker(player, start):
    row = played(cell(start, player), 2, 1, Readings.REAL)
    assert row.dangerous == 0
    assert row.broken == 0 or player == "ignores-warnings"


def test_a_lesson_is_the_same_again_with_its_seed_and_another_with_another():
    row = cell(Start.DRY_WEEK, "wrong-way")
    one, again, other = (lesson(row, seed, 0, Readings.TABLE) for seed in (1, 1, 2))
    assert one.run() == again.run()
    assert one.story == again.story
    assert other.run() != one.run()


def test_run_number_n_finds_the_same_instrument_whoever_plays_it():
    instruments = {
        lesson(cell(Start.DRY_WEEK, player, guide), 4, 3, Readings.TABLE).instrument
        for player in CHARACTERS
        for guide in Told
    }
    assert len(instruments) == 1


def test_there_is_a_row_for_every_start_player_guide_and_rule():
    assert len(all_cells()) == len(set(all_cells())) == 7 * 8 * 2 * 2


def test_json_rows_have_the_fields_in_order(capsys):
    words = [
        "lessons",
        "--json",
        "--runs",
        "1",
        "--readings",
        "table",
        "--start",
        "few-cents",
        "--player",
        "hasty",
    ]
    assert main([*words, "--pegs", "allowed"]) == 0
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [list(row) for row in rows] == [FIELDS, FIELDS]
    assert [row["guide"] for row in rows] == ["coach", "bare-number"]
    assert rows[0]["dangerous"] == 0
    assert rows[1]["dangerous"] is None


def test_the_table_has_a_line_for_each_row(capsys):
    words = ["lessons", "--runs", "1", "--readings", "table", "--start", "few-cents", "--player", "careful"]
    assert main([*words, "--guide", "coach"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 3
    assert lines[0].split()[:4] == ["start", "player", "guide", "pegs"]


def test_ctrl_c_ends_the_lessons_at_once_without_a_traceback():
    """At the worst moment: when the heading stands and the workers are being made."""
    lessons = subprocess.Popen(
        [sys.executable, "-u", "-m", "device", "lessons", "--runs", "200"],
        cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
    )  # fmt: skip
    try:
        assert lessons.stdout is not None
        lessons.stdout.readline()  # the heading
        os.killpg(lessons.pid, signal.SIGINT)
        out, _ = lessons.communicate(timeout=120)
    finally:
        lessons.kill()
    assert lessons.returncode == 130
    assert "Traceback" not in out


GUT = Settings(string_set=StringSet.PLAIN_GUT_E, pegs_by_grown_up=False)


@pytest.mark.parametrize("player", ["careful", "hasty", "wrong-peg"])
@pytest.mark.parametrize("start", [Start.FEW_CENTS, Start.TONE_SHARP], ids=lambda s: s.value)
def test_a_plain_gut_e_near_its_limit_is_not_endangered(player, start):
    instrument = found(start, build_of(GUT), GUT.targets, random.Random(5))
    ended = staged(cell(start, player), GUT, instrument, random.Random(5), Readings.TABLE).run()
    assert (ended.dangerous, ended.broken) == (0, 0)
    assert ended.in_tune or ended.handed_over


def test_a_teacher_at_the_wall_ends_what_barred_pegs_leave_over():
    """The slack string is handed over; the grown-up holds both buttons, and the pegs may be turned."""
    row = cell(Start.SLACK_FIFTH, "careful", pegs=PegRule.BARRED)

    def come(played_once):
        played_once._player.teacher = True

    alone, helped = outcomes(row, 3), outcomes(row, 3, come)
    assert all(o.handed_over for o in alone)
    assert all(o.in_tune for o in helped)
    assert sum(o.dangerous for o in helped) == 0


@pytest.mark.parametrize(
    ("pegs", "run"), [(PegRule.BARRED, 2), (PegRule.ALLOWED, 17)], ids=["barred", "allowed"]
)
def test_whoever_ignores_warnings_sees_stop_before_a_string_breaks(pegs, run):
    """Two lessons of seed 1 in which a string once broke unwarned: up by ear from too sharp to broken."""
    row = cell(Start.SLIPPED_OCTAVE, "ignores-warnings", pegs=pegs)
    ended = lesson(row, 1, run, Readings.TABLE).run()
    assert ended.stopped_before_break == ended.broken


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--runs", "0"], "--runs 0 is outside 1 to"),
        (["--player", "lazy"], "careful"),
        (["--seed", "a"], "--seed"),
    ],
)
def test_bad_input_is_refused_in_one_line(words, sentence, capsys):
    assert main(["lessons", *words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert sentence in err
    assert err.count("\n") == 1
