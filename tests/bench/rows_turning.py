"""Rows on a string that is turned while it rings, and on one that only wobbles."""

from dataclasses import dataclass, field, replace

from dsp import Cents, Instrument, Seconds
from dsp.synthesis import Turning
from tests.bench.common import Case, Sizes, cases, names, off_by, readings
from tests.bench.report import Table, median, milliseconds, percentile, share

VIOLIN = Instrument.VIOLIN
START_S, STOP_S = 0.6, 1.4  # of the turn, after the pluck
FAST = 20.0  # cents per second: the slowest turn of the goals
WOBBLES = (
    ("still", 0.0, 5.0),
    ("wobbling 3 cents at 5 Hz", 3.0, 5.0),
    ("wobbling 2 cents at 2 Hz", 2.0, 2.0),
)


def drift(sizes: Sizes) -> list[Table]:
    return [_turned(sizes), _still(sizes)]


@dataclass
class Following:
    """How readings follow turns."""

    rises: list[float] = field(default_factory=list)  # seconds until half of the rate is said
    falls: list[float] = field(default_factory=list)  # and, after the stop, no more than half
    lags: list[float] = field(default_factory=list)  # seconds by which the frequency is behind
    ratios: list[float] = field(default_factory=list)  # rate said over true rate

    def add(self, case: Case, rate: float) -> None:
        """One turn of `rate` cents per second, either way."""
        turned = replace(
            case, manner=replace(case.manner, turning=Turning(rate, Seconds(START_S), Seconds(STOP_S)))
        )
        lead = case.manner.lead_s
        said = readings(turned.sound(STOP_S + 0.6), case.range)
        inside = [r for r in said if lead + START_S <= r.time_s <= lead + STOP_S]
        after = [r for r in said if r.time_s > lead + STOP_S]
        self.rises += [r.time_s - lead - START_S for r in inside if r.drift_cents_per_s / rate > 0.5][:1]
        self.falls += [r.time_s - lead - STOP_S for r in after if r.drift_cents_per_s / rate < 0.5][:1]
        for r in inside:
            since = r.time_s - lead - START_S
            if since > 0.3:
                self.lags.append(since - off_by(r.frequency_hz, case.frequency) / rate)
                self.ratios.append(r.drift_cents_per_s / rate)


def _turned(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for speed in (20.0, 50.0, 100.0, 200.0):
        sizes.progress(f"drift: {speed:.0f} cents a second")
        for name in names(VIOLIN):
            found = Following()
            for case in cases(VIOLIN, name, sizes.of(30), 20.0):
                found.add(case, speed if case.seed % 2 else -speed)
            times = (
                median(found.rises),
                percentile(found.rises, 95),
                median(found.falls),
                median(found.lags),
            )
            cells = [milliseconds(t) for t in times]
            rows.append((f"{speed:.0f}", name, sizes.of(30), len(found.rises), *cells, median(found.ratios)))
    columns = (
        "cents/s",
        "string",
        "plucks",
        "followed",
        "half the rate after, ms",
        "95 %",
        "half gone after the stop, ms",
        "frequency lag, ms",
        "rate said / true",
    )
    goal = "drift_cents_per_s follows with at most 80 ms lag"
    return Table("drift", "A string being turned while it rings, 20 dB", goal, columns, tuple(rows))


def _still(sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for label, wobble, hertz in WOBBLES:
        sizes.progress(f"drift: {label}")
        for name in names(VIOLIN):
            drifts: list[float] = []
            for case in cases(VIOLIN, name, sizes.of(30), 20.0):
                manner = replace(case.manner, wobble_cents=Cents(wobble), wobble_hz=hertz)
                said = readings(replace(case, manner=manner).sound(1.6), case.range)
                drifts += [abs(r.drift_cents_per_s) for r in said if r.time_s > case.manner.lead_s + 0.3]
            fast = share(sum(d > FAST for d in drifts), len(drifts))
            rows.append((label, name, median(drifts), percentile(drifts, 95), fast))
    columns = (
        "string nobody turns",
        "string",
        "median drift, cents/s",
        "95 %",
        f"readings that say over {FAST:.0f} cents/s",
    )
    title = "A turn told from a wobble, 20 dB, from 0.3 s on"
    return Table("still", title, "no drift said where nobody turns", columns, tuple(rows))
