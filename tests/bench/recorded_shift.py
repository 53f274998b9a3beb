"""Row on one recorded note played a few cents higher or lower: does the reading move by as much?

No truth is needed: whatever the note's pitch is, it moves by the ratio of the two speeds.
"""

from collections.abc import Callable
from functools import partial

from device.sounding_reports import combined
from dsp import Hz, PitchTracker, Samples, cents
from tests.bench.common import Sizes
from tests.bench.peers import available
from tests.bench.recorded_figures import Scene, heard
from tests.bench.recorded_notes import Note
from tests.bench.report import Table, median, percentile
from tests.bench.rooms import resampled
from tests.bench.truth import fitted

SHIFTS = (-37.3, 23.1)  # cents
MOMENT_S, RECENT_S = 0.6, 0.2  # the other methods hear the last 0.2 s before the moment
COLUMNS = ("sounds", "method", "shifts", "no answer", "median", "95 %")
Answer = Callable[[Note, Samples], float | None]


def shifts(chosen: dict[str, list[Note]], sizes: Sizes) -> Table:
    answers: dict[str, Answer] = {
        "Wallpeg, as `listen` reports": _listened,
        f"Wallpeg at {MOMENT_S} s": _at_the_moment,
        "plain fit of partials": _plainly,
        **{name: partial(_theirs, estimate) for name, estimate in available().items()},
    }
    rows: list[tuple[object, ...]] = []
    for name, batch in chosen.items():
        for method, answer in answers.items():
            sizes.progress(f"recorded: shifts, {name}, {method}")
            off = [_missed(note, shift, answer) for note in batch for shift in SHIFTS]
            known = [o for o in off if o is not None]
            rows.append((name, method, len(off), len(off) - len(known), median(known), percentile(known, 95)))
    goal = "less than any other method misses (cents)"
    return Table("recorded_shift", "A shift of one recorded note recovered", goal, COLUMNS, tuple(rows))


def _missed(note: Note, shift: float, answer: Answer) -> float | None:
    """By how many cents the answers' distance differs from the shift."""
    plain, moved = answer(note, note.sound), answer(note, resampled(note.sound, 2.0 ** (shift / 1200.0)))
    return abs(cents(Hz(moved), Hz(plain)) - shift) if plain and moved else None


def _listened(note: Note, sound: Samples) -> float | None:
    said = heard(Scene(note, sound, note.rate), PitchTracker)
    first = [r for _, r in said if r.pluck == said[0][1].pluck]
    return combined(first).reading.frequency_hz if first else None


def _at_the_moment(note: Note, sound: Samples) -> float | None:
    before = [r for t, r in heard(Scene(note, sound, note.rate), PitchTracker) if t <= MOMENT_S]
    return before[-1].frequency_hz if before else None


def _recent(note: Note, sound: Samples) -> Samples:
    first, last = ((note.onset_s + t) * note.rate for t in (MOMENT_S - RECENT_S, MOMENT_S))
    return sound[round(first) : round(last)]


def _plainly(note: Note, sound: Samples) -> float | None:
    fit = fitted(_recent(note, sound), note.rate, note.nominal_hz)
    return fit.frequency_hz if fit else None


def _theirs(estimate: Callable[..., float | None], note: Note, sound: Samples) -> float | None:
    return estimate(_recent(note, sound), note.rate, *note.range)
