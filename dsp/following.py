"""One note brought up to date: its newest blocks, its settled pitch, and whether it is being turned."""

from dataclasses import replace

from dsp.retuning import Turn, shifted_by
from dsp.retuning import judged_move as turned
from dsp.sounding import Past
from dsp.tracking import Followed, fitted, moved_to, recentre_by

_LET_GO_S = 0.06  # of a turn's last moments from which the pitch is sought anew when it ends
_TURNING_REACH_S = 0.25  # of phases kept when a turned string is expected elsewhere


def brought_up(follow: Followed, turn: Turn, past: Past) -> tuple[Followed, Turn]:
    """A note with its newest blocks fitted, and whether it is being turned."""
    follow = fitted(follow, past, turning=turn.turning)
    was = turn.turning
    turn = turned(follow, turn)
    moving = turn.moving
    if was and not turn.turning:
        turn = replace(turn, ended_s=follow.onset.age_s(past))
    if was and turn.wobbles:  # it was no turn: all that was heard is one settled pitch
        return fitted(follow, past), turn
    if was and not turn.turning and moving is not None:  # the settled pitch is gone, and is found anew
        follow = fitted(moved_to(follow, moving.cents, past, _LET_GO_S), past)
        return follow, replace(turn, courses=(), moving=None)
    if turn.turning and moving is not None:
        by, reach = recentre_by(moving.cents, moving.away_error), _TURNING_REACH_S
    elif follow.settled is not None:
        by, reach = recentre_by(follow.settled.now_cents, follow.settled.std_error), 1.0
    else:
        by, reach = 0.0, 0.0
    if by == 0.0:
        return follow, turn
    kept = follow.settled
    follow = moved_to(follow, by, past, reach)
    partials = follow.base.harmonic.size
    turn = shifted_by(turn, by, partials)
    if turn.turning and kept is not None:
        return replace(follow, settled=kept.moved(by, partials)), turn
    return fitted(follow, past), replace(turn, moving=None)
