"""When a string counts as being turned: the movement of its last moments, from both sides of each limit.

Hands turn at 20 to 200 cents a second. What else moves a pitch: a sharp start sinks (10 to 13 cents in the
first 0.1 s, 5 at 0.25 to 0.5 s on recorded violins), two swings beat, a bow sways, a stopped string has no
pitch left. The limits are chosen, and written here again by hand.
"""

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from dsp import Hz, retuning
from dsp.columns import columns_of
from dsp.partials import basis, blocks
from dsp.retuning import Moving, Turn, judged_move
from dsp.settling import Settled, solved
from dsp.tracks import tracks_of

COURSE = Settled(
    0.0, 0.1, 0.0, np.zeros(6), np.ones(6), 0.1, np.ones(1), np.zeros(1), np.zeros(1, np.intp), 0.0, 1.0, 0
)


def moved(age_s: float, slope: float, away: float, *, error: float = 1.0, fell_db: float = 0.0) -> Moving:
    """The last moments at an age: cents a second, cents from the settled course."""
    return Moving(away, away, 0.1, slope, error, error, age_s, fell_db)


@pytest.fixture
def turned(monkeypatch):
    """Whether a string whose last moments move so counts as being turned."""

    def run(now: Moving, *, bowed: bool = False, turn: Turn | None = None) -> bool:
        monkeypatch.setattr(retuning, "moving", lambda *_: now)
        tracks = SimpleNamespace(time_s=np.array([now.age_s]))
        note = SimpleNamespace(settled=COURSE, tracks=tracks, bowed=bowed)
        return judged_move(note, turn or Turn()).turning

    return run


@pytest.fixture
def creeping(monkeypatch):
    """From which age a string of 0.75 s with such a slope in its longer looks creeps; None if it does not."""

    def run(slope: float, before: float | None = None) -> float | None:
        now = moved(0.75, slope, 0.2, error=3.0)
        monkeypatch.setattr(retuning, "moving", lambda *_: now)
        tracks = SimpleNamespace(time_s=np.array([now.age_s]))
        note = SimpleNamespace(settled=COURSE, tracks=tracks, bowed=False)
        return judged_move(note, Turn(crept_s=before)).crept_s

    return run


@pytest.mark.parametrize(
    ("now", "turning"),
    [
        # a slope of the first fifth of a second may be the sharp start's
        (moved(0.19, 60.0, 5.0), False),
        (moved(0.21, 60.0, 5.0), True),
        # a fast one must have left the course by a cent and a half, a slow one by more: swings beat
        (moved(0.4, 60.0, 1.4), False),
        (moved(0.4, 60.0, 1.6), True),
        (moved(0.4, 40.0, 2.2), False),
        (moved(0.4, 40.0, 2.4), True),
        # slower than eight cents a second no hand turns
        (moved(0.4, 7.5, 6.0), False),
        (moved(0.4, 8.5, 6.0, error=0.1), True),
        # three standard errors of the slope
        (moved(0.4, 60.0, 6.0, error=21.0), False),
        (moved(0.4, 60.0, 6.0, error=19.0), True),
        # downwards a start may sink by twelve cents more than was foreseen
        (moved(0.5, -60.0, -11.0), False),
        (moved(0.5, -60.0, -13.0), True),
        # what moves back to its course is not being turned away from it
        (moved(0.4, 60.0, -6.0), False),
        # a string that falls by more than nine decibels in one look is stopped
        (moved(0.4, 60.0, 6.0, fell_db=8.5), True),
        (moved(0.4, 60.0, 6.0, fell_db=9.5), False),
        # nothing is said of a pace that no hand has, nor of one that may be any hand's
        (moved(0.4, 215.0, 16.0, error=48.0), True),
        (moved(0.4, 225.0, 16.0, error=48.0), False),
        (moved(0.4, 215.0, 16.0, error=52.0), False),
    ],
)
def test_a_string_counts_as_turned_once_it_surely_left_its_course_at_the_pace_of_a_hand(turned, now, turning):
    assert turned(now) is turning


@pytest.mark.parametrize(("away", "turning"), [(11.0, False), (13.0, True)])
def test_a_bow_sways_further(turned, away, turning):
    assert turned(moved(0.4, 60.0, away), bowed=True) is turning


@pytest.mark.parametrize(
    ("age_s", "slope", "turning"),
    [
        (0.54, 40.0, False),
        (0.6, 18.0, False),
        (0.6, 26.0, True),
        (0.6, -30.0, False),
        (0.6, -40.0, True),
        (0.75, 12.0, False),
        (0.75, 16.0, True),
        (0.75, -26.0, False),
        (0.75, -32.0, True),
        (1.6, 60.0, False),
    ],
)
def test_a_string_that_was_turned_from_its_pluck_on_shows_by_a_slope_that_no_other_string_has(
    turned, age_s, slope, turning
):
    """It never left its course. Of strings nobody turned 98 in 100 stay within 16 and -28 cents a second in
    a look of 0.45 s and within 17 and -30 in one of 0.3 s (synthetic plucks, recorded bass and guitar)."""
    said_before = Turn(crept_s=age_s - 0.11)
    assert turned(moved(age_s, slope, 0.2, error=3.0), turn=said_before) is turning


@pytest.mark.parametrize(("fell_db", "turning"), [(19.0, True), (21.0, False)])
def test_what_drowned_within_a_long_look_has_not_crept(monkeypatch, fell_db, turning):
    """What is left of a note that falls so fast is the room's, or another string's."""
    looks = {
        False: moved(0.75, 40.0, 0.2, error=3.0),
        True: moved(0.75, 40.0, 0.2, error=3.0, fell_db=fell_db),
    }
    monkeypatch.setattr(retuning, "moving", lambda _note, _course, span_s: looks[span_s > 0.25])
    note = SimpleNamespace(settled=COURSE, tracks=SimpleNamespace(time_s=np.array([0.75])), bowed=False)
    assert judged_move(note, Turn(crept_s=0.64)).turning is turning


def test_what_begins_to_creep_may_go_on_a_little_slower(creeping):
    """Such a string is read as often as one that is turned, so that it is not lost between two readings."""
    assert creeping(-29.0) is None
    began = creeping(-31.0)
    assert began is not None
    assert Turn(crept_s=began).suspected
    assert creeping(-29.0, before=began) == began
    assert creeping(-26.0, before=began) is None


@pytest.mark.parametrize(
    ("slope", "error", "for_s", "turning"),
    [
        # two swings that beat look like it for a moment: it must last, or be clear, or steep and sure
        (26.0, 3.0, 0.0, False),
        (26.0, 3.0, 0.09, False),
        (26.0, 3.0, 0.11, True),
        (26.0, 2.0, 0.0, True),
        (30.0, 4.0, 0.0, True),
        (30.0, 6.0, 0.0, False),
        (26.0, 8.0, 0.2, False),
        (-40.0, 5.0, 0.0, False),
        (-40.0, 3.0, 0.0, True),
        (-50.0, 8.0, 0.0, True),
    ],
)
def test_one_look_alone_says_no_turn_unless_it_is_clear(turned, slope, error, for_s, turning):
    before = Turn(crept_s=0.6 - for_s if for_s else None)
    assert turned(moved(0.6, slope, 0.2, error=error), turn=before) is turning


@pytest.mark.parametrize(("error", "turning"), [(29.0, True), (31.0, False)])
def test_a_turn_goes_on_while_its_slope_is_sure_by_two_errors(turned, error, turning):
    earlier = Turn(turning=True, courses=((0.3, COURSE),), moving=moved(0.38, 60.0, 6.0))
    assert turned(moved(0.4, 60.0, 7.0, error=error), turn=earlier) is turning


@pytest.mark.parametrize(("away", "turning"), [(7.5, False), (8.5, True)])
def test_a_pitch_that_turns_back_within_eight_cents_wobbles(turned, away, turning):
    earlier = Turn(True, courses=((0.3, COURSE),), moving=moved(0.38, -60.0, 6.0), sign=-1, signed_s=0.38)
    assert turned(moved(0.4, 60.0, away), turn=earlier) is turning


def test_only_a_string_that_is_turned_has_a_drift():
    now = moved(0.4, 60.0, 6.0)
    assert Turn(moving=now).drift == 0.0
    assert Turn(turning=True, moving=now).drift == 60.0


def test_a_turn_is_judged_against_the_course_of_more_than_a_tenth_of_a_second_ago(turned):
    """What was found before it began: the oldest that is kept is the newest that is old enough."""
    turn = Turn()
    for age_s in (0.1, 0.15, 0.2, 0.25, 0.3):
        tracks = SimpleNamespace(time_s=np.array([age_s]))
        turned(moved(age_s, 0.0, 0.0))
        turn = judged_move(SimpleNamespace(settled=COURSE, tracks=tracks, bowed=False), turn)
    assert [age_s for age_s, _ in turn.courses] == [0.15, 0.2, 0.25, 0.3]


RATE, BAND, PITCH = 12000.0, Hz(5000.0), Hz(293.66)
TURNED_FROM_S = 0.35


def followed(slope: float, scatter: float, seed: int) -> tuple[SimpleNamespace, Settled]:
    """Ten partials, each off by so many cents of its own, half a second long, turned from 0.35 s on; and
    the course that they had before."""
    rng, time = np.random.default_rng(seed), np.arange(round(0.5 * RATE)) / RATE
    course, sound = slope * np.maximum(time - TURNED_FROM_S, 0.0), 3e-4 * rng.standard_normal(time.size)
    for k in range(1, 11):
        off = course + scatter * rng.standard_normal()
        pitch = PITCH * k * math.sqrt(1.0 + 6.9e-5 * k * k) * 2.0 ** (off / 1200.0)
        phase = 2.0 * math.pi * np.cumsum(pitch) / RATE + rng.uniform(0.0, 6.28)
        sound += 0.1 / k * np.exp(-time * (1.0 + 0.3 * k)) * np.cos(phase)
    base = basis(PITCH, 6.9e-5, RATE, BAND)
    count = (sound.size - base.length) // base.hop + 1
    found = blocks(sound, count, base, 0.0, RATE)
    centre = (0.5 * (base.length - 1) + base.hop * np.arange(count)) / RATE
    early = int(np.searchsorted(centre, TURNED_FROM_S - 0.02))
    before = tracks_of(centre[:early], found.phasor[:, :early], found.noise[:early], base)
    columns = columns_of(before, None)
    assert columns is not None
    return SimpleNamespace(tracks=tracks_of(centre, found.phasor, found.noise, base), base=base), solved(
        columns
    )


@pytest.mark.parametrize("slope", [-60.0, 0.0, 60.0])
@pytest.mark.parametrize(("scatter", "most_error"), [(0.0, 1.0), (6.0, 30.0)])
@pytest.mark.parametrize("seed", [1, 2])
def test_the_last_moments_show_slope_and_distance_within_their_errors(slope, scatter, most_error, seed):
    """What each partial is off by is known from before, so it neither moves the slope nor drowns it."""
    note, settled = followed(slope, scatter, seed)
    now = retuning.moving(note, settled, 0.11)
    assert now is not None
    assert abs(now.slope - slope) < 3.0 * max(now.slope_error, 0.3)
    assert now.slope_error < most_error
    went = slope * (now.age_s - TURNED_FROM_S)
    assert abs(now.away - went) < 3.0 * max(now.away_error, 0.3)
    assert now.away_error < 0.1 * most_error
    assert 1.2 < now.fell_db < 1.8  # the first partial alone by 8.7 x 1.3 x 0.11 = 1.24 dB


@pytest.mark.parametrize("away_error", [0.1, 5.0])
def test_while_a_string_is_turned_its_stated_error_owns_to_what_partials_share(away_error):
    """Two swings of a string stand 0.7 cents apart (Woodhouse, JASA 2021): no look tells better than that."""
    now = Moving(5.0, 5.0, away_error, 60.0, 1.0, 1.0, 0.4)
    assert now.std_error >= max(0.7, away_error)
    assert now.std_error <= away_error + 2.0


def test_after_a_turn_a_string_owns_to_more_for_a_while():
    ended = Turn(ended_s=0.5)
    assert ended.unsettled(0.89) == 3.0
    assert ended.unsettled(0.91) == 0.0
    assert Turn().unsettled(0.1) == 0.0


@pytest.mark.parametrize(("course_error", "turning"), [(1.0, True), (5.4, True), (5.6, False)])
def test_a_course_that_is_hardly_known_is_not_left(monkeypatch, course_error, turning):
    """Several players beat, which is no turn."""
    now = moved(0.7, 100.0, 40.0)
    monkeypatch.setattr(retuning, "moving", lambda *_: now)
    course = replace(COURSE, std_error=course_error)
    note = SimpleNamespace(settled=course, tracks=SimpleNamespace(time_s=np.array([0.7])), bowed=False)
    assert judged_move(note, Turn()).turning is turning


@pytest.mark.parametrize(("misfit", "turning"), [(1.0, True), (3.9, True), (4.1, False)])
def test_of_several_players_no_slow_turn_from_the_pluck_on_is_said(monkeypatch, misfit, turning):
    monkeypatch.setattr(retuning, "moving", lambda *_: moved(0.6, -40.0, 0.2, error=3.0))
    tracks = SimpleNamespace(time_s=np.array([0.6]))
    note = SimpleNamespace(settled=replace(COURSE, misfit=misfit), tracks=tracks, bowed=False)
    assert judged_move(note, Turn()).turning is turning
