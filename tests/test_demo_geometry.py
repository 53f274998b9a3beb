"""Which way turns wind a string: derived here a second time, by rotating a point of the shaft."""

import math

import numpy as np
import pytest

from demo.mechanics.geometry import Spin, pegs, screw_pulls
from tests.each import each

STEP = math.radians(5.0)


def rotated(point, axis, angle):
    """Rodrigues' formula: `point` turned about `axis` by `angle`, right-handed."""
    axis = np.array(axis)
    return (
        point * math.cos(angle)
        + np.cross(axis, point) * math.sin(angle)
        + axis * (axis @ point) * (1.0 - math.cos(angle))
    )


def raises(head, clockwise, looking_from_front=True):
    """Whether the point where the string lies on the shaft goes up, away from the nut.

    Counter-clockwise for whoever faces the head is a right-handed turn about the outward axis.
    """
    front = np.array([0.0, 0.0, 1.0 if looking_from_front else -1.0])
    angle = -STEP if clockwise else STEP
    return bool(rotated(front, head, angle)[1] > 0.0)


@pytest.mark.parametrize("position", range(4))
@pytest.mark.parametrize("left_handed", [False, True])
def test_each_peg_winds_as_a_point_on_its_shaft_moves(position, left_handed):
    shaft = pegs(4, left_handed)[position]
    for spin in each(Spin):
        assert (shaft.winding(spin) > 0) is raises(shaft.head, spin is Spin.CLOCKWISE)


def test_low_strings_rise_counter_clockwise_and_high_ones_clockwise():
    """Common practice: the usual pegbox, facing the head of the peg."""
    raising = [
        Spin.CLOCKWISE if shaft.winding(Spin.CLOCKWISE) > 0 else Spin.COUNTER_CLOCKWISE
        for shaft in pegs(4, False)
    ]
    assert raising == [Spin.COUNTER_CLOCKWISE] * 2 + [Spin.CLOCKWISE] * 2


def test_a_left_handed_pegbox_is_the_mirror_picture():
    usual, mirrored = pegs(4, False), pegs(4, True)
    assert [a.winding(Spin.CLOCKWISE) for a in usual] == [-b.winding(Spin.CLOCKWISE) for b in mirrored]


def test_the_seated_cellist_behind_the_pegbox_turns_the_same_way_facing_the_head():
    """The cellist's own axes are turned half about the vertical: left and front change sign together."""
    half_turn = np.diag([-1.0, 1.0, -1.0])
    for shaft in each(pegs(4, False)):
        head = half_turn @ np.array(shaft.head)
        for spin in each(Spin):
            assert (shaft.winding(spin) > 0) is raises(head, spin is Spin.CLOCKWISE, looking_from_front=False)


def test_the_top_of_a_raising_peg_goes_away_from_whoever_looks_at_the_strings():
    """Violin in the lap, strings facing the player: design fact, by geometry."""
    for shaft in each(pegs(4, False)):
        spin = next(s for s in Spin if shaft.winding(s) > 0)
        angle = STEP if spin is Spin.COUNTER_CLOCKWISE else -STEP
        top = np.array([0.0, 1.0, 0.0])
        assert rotated(top, shaft.head, angle)[2] < 0.0


def test_a_right_handed_screw_goes_in_clockwise_and_pulls():
    assert screw_pulls(Spin.CLOCKWISE) == 1
    assert screw_pulls(Spin.COUNTER_CLOCKWISE) == -1
