"""When garbage is collected: in a pause, and not for ever later."""

from dataclasses import replace

from device.commands.housekeeping import Housekeeping
from device.events import Plucked, Tick
from dsp import Seconds
from tests.test_appliance import snapshot


def collected(seconds, busy):
    """The moments at which it collects, when `busy` says whether somebody plays."""
    moments, now, settled = [], [0.0], []
    keeping = Housekeeping(lambda: moments.append(now[0]), lambda: settled.append(now[0]))
    first = snapshot(0.0)
    for tick in range(round(seconds / 0.1)):
        now[0] = 0.1 * tick
        at = Seconds(now[0])
        events = (Plucked(at, 1, -20.0), Tick(at)) if busy(now[0]) else (Tick(at),)
        keeping.watch(replace(first, at=at, events=events))
    assert settled == [0.0]
    return moments[1:]


def test_while_nobody_plays_it_is_done_every_so_often():
    moments = collected(1000.0, lambda _at: False)
    assert len(moments) == 8
    assert moments[0] == 120.0


def test_it_waits_for_a_pause():
    moments = collected(400.0, lambda at: at < 300.0)
    assert len(moments) == 1
    assert 301.8 < moments[0] < 302.2


def test_where_there_is_no_pause_it_is_done_all_the_same():
    moments = collected(2640.0, lambda _at: True)
    assert len(moments) == 2
