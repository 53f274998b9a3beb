"""Tries the microphone: its rate, its noise, whether it clips, and a pluck if somebody is there."""

import math
from collections.abc import Callable

from device.commands.trials import PACE_S, WAIT_S, Bench, Finding
from device.errors import PartError
from device.ports import Microphone
from device.runtime.audio_in import NewTracker
from dsp import Reading, Samples, Seconds
from dsp.level import level_dbfs, peak

LISTEN_S = Seconds(2.0)  # chosen: long enough to count the sample rate within a percent
FIRST_BLOCK_S = Seconds(3.0)  # a sound server was seen to take over one second
RATE_OFF = 0.03  # share; blocks come in bursts, and the worst wrong rate in use (44.1 for 48) is 8 %
TOO_NOISY_DBFS = -30.0  # chosen: a pluck at arm's length arrives at about -20
CLIPPED = 0.985  # of full scale


def try_microphone(bench: Bench, opened: Callable[[], Microphone], new_tracker: NewTracker) -> list[Finding]:
    """Its rate, its noise, and a pluck if somebody is there."""
    try:
        microphone = opened()
    except PartError as why:
        return [Finding("microphone", False, str(why))]
    try:
        return [_quiet(bench, microphone), _pluck(bench, microphone, new_tracker)]
    except PartError as why:
        return [Finding("microphone", False, str(why))]
    finally:
        microphone.close()


def _quiet(bench: Bench, microphone: Microphone) -> Finding:
    """Listens for a moment: the rate, the noise floor, clipping, and whether anything moves at all."""
    _first_block(bench, microphone)
    begun, heard = bench.clock.now(), list[Samples]()
    while bench.clock.now() - begun < LISTEN_S:
        bench.clock.sleep(PACE_S)
        heard.append(microphone.read())
    rate = sum(len(block) for block in heard) / (bench.clock.now() - begun)
    said = f"{microphone.sample_rate_hz} samples a second"
    if abs(rate / microphone.sample_rate_hz - 1.0) > RATE_OFF:
        return Finding("microphone", False, f"says {said} and gives {rate:.0f}; every reading would be wrong")
    floor, loudest = level_dbfs(heard), peak(heard)
    if floor is None:
        return Finding("microphone", False, f"gives {said}, all of them alike: is it switched on?")
    said += f", noise floor {floor:.0f} dBFS"
    if loudest >= CLIPPED:
        return Finding("microphone", False, f"{said}, and it is driven too hard: turn its gain down")
    if floor > TOO_NOISY_DBFS:
        return Finding("microphone", False, f"{said}: too much for a string to be heard above it")
    return Finding("microphone", True, said)


def _first_block(bench: Bench, microphone: Microphone) -> None:
    begun = bench.clock.now()
    while len(microphone.read()) == 0:
        if bench.clock.now() - begun > FIRST_BLOCK_S:
            raise PartError(f"it is open and gives no sound at all for {FIRST_BLOCK_S:g} s")
        bench.clock.sleep(PACE_S)


def _pluck(bench: Bench, microphone: Microphone, new_tracker: NewTracker) -> Finding:
    if not bench.person.there:
        return Finding("pluck", None, "nobody is at the terminal to pluck a string")
    bench.person.tell(f"Pluck any open string within {WAIT_S:g} s.")
    tracker, begun = new_tracker(microphone.sample_rate_hz), bench.clock.now()
    loudest, readings = 0.0, list[Reading]()
    while bench.clock.now() - begun < WAIT_S and not (readings and readings[-1].since_pluck_s > 0.3):
        bench.clock.sleep(PACE_S)
        block = microphone.read()
        loudest = max(loudest, peak([block]))
        readings += tracker.feed(block)
    if not readings:
        return Finding("pluck", False, f"no string was heard; the loudest sample was {_db(loudest)}")
    last = readings[-1]
    said = f"heard {last.frequency_hz:.1f} Hz at {last.level_dbfs:.0f} dBFS"
    if loudest >= CLIPPED:
        return Finding("pluck", False, f"{said}, too loud for the microphone: turn its gain down")
    return Finding("pluck", True, said)


def _db(amplitude: float) -> str:
    return f"at {20.0 * math.log10(amplitude):.0f} dBFS" if amplitude > 0.0 else "zero"
