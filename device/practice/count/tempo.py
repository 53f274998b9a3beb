"""How fast: the marks of the metronome, tapping, and what the box changes by itself.

The marks are those engraved on metronomes since the nineteenth century (common practice), from 40 to 160
beats a minute.
"""

from collections.abc import Sequence

from device.config.practice_settings import FASTEST_BPM, SLOWEST_BPM
from dsp import Seconds

TEMPO_MARKS = (
    *range(40, 60, 2),
    *range(60, 72, 3),
    *range(72, 120, 4),
    *range(120, 144, 6),
    *(144, 152, 160),
)
TAPS = 4  # the last so many count; more would follow a change too slowly (chosen)
FORGOTTEN_S = Seconds(2.0)  # a longer pause begins a new row of taps; 40 to the minute is 1.5 s
SLOWER_AFTER, FASTER_AFTER = 2, 3  # bars in a row that failed, or went well: the issue's


def mark_beside(tempo_bpm: int, step: int) -> int:
    """The next mark up (+1) or down (-1); the last one stays."""
    beyond = [mark for mark in TEMPO_MARKS if (mark - tempo_bpm) * step > 0]
    return min(beyond, key=lambda mark: abs(mark - tempo_bpm)) if beyond else tempo_bpm


def tapped(taps: Sequence[Seconds], at: Seconds) -> tuple[tuple[Seconds, ...], int | None]:
    """The taps with one more, and the tempo they beat; None for a first one."""
    kept = (*taps, at) if taps and at - taps[-1] <= FORGOTTEN_S else (at,)
    kept = kept[-TAPS:]
    if kept[-1] <= kept[0]:
        return kept, None
    beat_s = (kept[-1] - kept[0]) / (len(kept) - 1)
    return kept, min(max(round(60.0 / beat_s), SLOWEST_BPM), FASTEST_BPM)


def paced(tempo_bpm: int, went: Sequence[bool]) -> int:
    """The tempo after bars that went well or not, at this tempo, the latest last."""
    if len(went) >= SLOWER_AFTER and not any(went[-SLOWER_AFTER:]):
        return mark_beside(tempo_bpm, -1)
    if len(went) >= FASTER_AFTER and all(went[-FASTER_AFTER:]):
        return mark_beside(tempo_bpm, 1)
    return tempo_bpm
