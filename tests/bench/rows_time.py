"""Row on how soon after the pluck a reading can be trusted, and stays right."""

from collections.abc import Callable
from functools import partial

from dsp import Instrument, Samples
from tests.bench.common import RATE, Case, Sizes, cases, error_cents, names, readings
from tests.bench.peers import available
from tests.bench.report import Table, median, milliseconds, percentile

TIMES_S = (0.02, 0.03, 0.045, 0.06, 0.08, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)  # ends of the peers' windows
LAST_S = 1.0
LIMITS = (5.0, 1.0)  # cents
TIME_COLUMNS = (
    "instrument",
    "string",
    "plucks",
    "any, ms",
    "5 cents, ms",
    "95 %",
    "never",
    "1 cent, ms",
    "95 %",
    "never",
)


def time_to_reading(sizes: Sizes) -> list[Table]:
    rows = time_rows(sizes, Instrument.VIOLIN)
    goal = "median 45 ms to within 5 cents, 150 ms to within 1 cent, and it stays there (to 1 s)"
    title = "From the pluck to a reading that stays right, 20 dB"
    return [Table("time", title, goal, TIME_COLUMNS, tuple(rows)), _by_method(sizes)]


def time_rows(sizes: Sizes, instrument: Instrument) -> list[tuple[object, ...]]:
    """A row of `TIME_COLUMNS` for each string."""
    rows: list[tuple[object, ...]] = []
    for name in names(instrument):
        sizes.progress(f"time to a reading: {instrument.value} {name}")
        tracks = [our_track(case) for case in cases(instrument, name, sizes.of(100), 20.0)]
        row: list[object] = [
            instrument.value,
            name,
            len(tracks),
            milliseconds(median([t[0][0] for t in tracks if t])),
        ]
        for limit in LIMITS:
            snapshots = [since_when_within(track, limit) for track in tracks]
            times = [m for m in snapshots if m is not None]
            row += [
                milliseconds(median(times)),
                milliseconds(percentile(times, 95)),
                len(snapshots) - len(times),
            ]
        rows.append(tuple(row))
    return rows


def our_track(case: Case) -> list[tuple[float, float]]:
    """Time since the pluck and cents outside the stretch of every reading of the note."""
    said = readings(case.sound(LAST_S), case.range)
    lead = case.manner.lead_s
    return [(r.time_s - lead, error_cents(r.frequency_hz, case)) for r in said if r.time_s > lead]


def since_when_within(track: list[tuple[float, float]], limit: float) -> float | None:
    """From when on the error stays within the limit; None where it does not at the end."""
    moment = None
    for time, error in reversed(track):
        if abs(error) > limit:
            break
        moment = time
    return moment


def _by_method(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    methods: dict[str, Callable[[Case], list[tuple[float, float]]]] = {"Wallpeg": our_track}
    methods |= {name: partial(_their_track, estimate) for name, estimate in available().items()}
    for method, track_of in methods.items():
        sizes.progress(f"time to a reading: {method}")
        tracks = [
            track_of(case)
            for name in names(Instrument.VIOLIN)
            for case in cases(Instrument.VIOLIN, name, sizes.of(12), 20.0)
        ]
        row: list[object] = [method, len(tracks)]
        for limit in LIMITS:
            times = [since_when_within(track, limit) for track in tracks]
            arrived = [t for t in times if t is not None]
            whole = arrived + [LAST_S] * (len(times) - len(arrived))
            row += [
                milliseconds(median(whole)) if len(arrived) > len(times) / 2 else "not by 500",
                len(times) - len(arrived),
            ]
        rows.append(tuple(row))
    columns = ("method", "plucks", "5 cents, ms", "never", "1 cent, ms", "never")
    goal = "windows from the pluck to 20..500 ms after it (ours: every reading); the median pluck"
    return Table(
        "time_methods", "Methods side by side: time to a reading that stays right", goal, columns, tuple(rows)
    )


def _their_track(estimate: Callable[..., float | None], case: Case) -> list[tuple[float, float]]:
    sound: Samples = case.sound(max(TIMES_S) + 0.02)
    first = round(case.manner.lead_s * RATE)
    track = []
    for end in TIMES_S:
        answer = estimate(sound[first : first + round(end * RATE)], RATE, *case.range)
        if answer is not None:
            track.append((end, error_cents(answer, case)))
    return track
