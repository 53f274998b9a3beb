"""Rows on recorded plucks of one player each, takes that chose nothing: what a real string gets."""

from collections.abc import Callable
from functools import partial
from pathlib import Path

from dsp import Hz, PitchTracker, Samples, cents
from tests.bench.common import Sizes
from tests.bench.peers import available
from tests.bench.recorded_conditions import CONDITIONS, clean
from tests.bench.recorded_figures import COLUMNS, MOMENTS, WRONG_CENTS, figures, heard
from tests.bench.recorded_gate import equal_plucks
from tests.bench.recorded_notes import SETS, Note, missing, notes
from tests.bench.recorded_shift import shifts
from tests.bench.report import Table, median, percentile
from tests.bench.truth import fitted

ALL_FROM = 0.1  # scale from which our own clean row takes every note
LEAST_NOTES = 6  # of a set in the quick form
RECENT_S = 0.2  # the other methods hear this much before the moment, or all since 30 ms after the onset
SKIP_S = 0.03
Answer = Callable[[Note, float], float | None]
WHERE = "Sets: D. Smolken's double bass 2013 and Karoryfer's guitar 2014, CC0 1.0; takes c, d and rr2."


def recorded(sizes: Sizes) -> list[Table]:
    """What we make of recorded plucks; nothing, and the reason said, where the recordings are missing."""
    chosen = _chosen(sizes)
    if not chosen or sizes.recorded is None:
        return []
    everything = {name: notes(sizes.recorded, name, reported=True) for name in chosen}
    told = everything if sizes.scale >= ALL_FROM else chosen
    return [_ours(told, sizes), _conditions(chosen, sizes), equal_plucks(chosen, sizes)]


def beside(sizes: Sizes) -> list[Table]:
    """The same plucks to every method."""
    chosen = _chosen(sizes)
    return [_methods(chosen, sizes), shifts(chosen, sizes)] if chosen else []


def _chosen(sizes: Sizes) -> dict[str, list[Note]]:
    reason = missing(sizes.recorded)
    if reason or sizes.recorded is None:
        sizes.progress(f"recorded: left out, {reason}")
        return {}
    return {name: _notes(sizes.recorded, name, sizes) for name in SETS}


def _notes(folder: Path, name: str, sizes: Sizes) -> list[Note]:
    every = max(1, round(1.0 / sizes.scale))
    told = notes(folder, name, reported=True)
    return told[:: min(every, max(1, len(told) // LEAST_NOTES))]


def _ours(chosen: dict[str, list[Note]], sizes: Sizes) -> Table:
    rows = []
    for name, batch in chosen.items():
        sizes.progress(f"recorded: {name}")
        rows.append(figures([clean(note) for note in batch]).row(name))
    goal = (
        "by 0.1 s 90 %, by 0.15 s 98 % (notes under 140 Hz in proportion to their period); cents: guitar"
        " 2.5/9, 1.5/6, 1.0/4.5, 0.9/3.3 at 0.1, 0.2, 0.3, 0.6 s, bass x4 4.5/15, 3/9.5, 1.7/4.6 from 0.2 s,"
        " bass x2 4.0/13, 2.6/8 from 0.3 s; mean within 1.5; 60..80 % inside 1, at least 90 % inside 2 of its"
        " stated errors"
        f" (1.5 cents of the truth added; 85 % before 0.3 s); none wrong; at most 1 % silent. {WHERE}"
    )
    return Table("recorded", "Recorded plucks", goal, COLUMNS, tuple(rows))


def _methods(chosen: dict[str, list[Note]], sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for name, batch in chosen.items():
        for method, answer in _answers().items():
            sizes.progress(f"recorded: {name}, {method}")
            rows.append((name, method, *_cells(batch, answer)))
    columns = ["sounds", "method"]
    columns += [f"{what} {t} s" for t in MOMENTS for what in ("answered %", "wrong", "median", "95 %")]
    goal = (
        "behind us on median and 95 % at every moment. Each method twice: on all since 30 ms after the onset,"
        f" and on the last {RECENT_S:g} s. The plain fit is told which note it is. At 0.6 s the truth of"
        " notes that die early (its window begins 0.45 s after the onset) shares its sound with the answers"
    )
    return Table(
        "recorded_methods", "Methods side by side on recorded plucks", goal, tuple(columns), tuple(rows)
    )


def _answers() -> dict[str, Answer]:
    answers: dict[str, Answer] = {"Wallpeg": _Ours()}
    methods = {"plain fit of partials": None, **available()}
    for method, estimate in methods.items():
        for recent in (False, True):
            label = f"{method} (last {RECENT_S:g} s)" if recent else method
            ask = partial(_plainly, recent) if estimate is None else partial(_theirs, estimate, recent)
            answers[label] = ask
    return answers


def _cells(batch: list[Note], answer: Answer) -> list[object]:
    cells: list[object] = []
    for moment in MOMENTS:
        given = [(answer(note, moment), note.truth) for note in batch]
        off = [abs(cents(Hz(hz), truth.frequency_hz)) for hz, truth in given if hz is not None and truth]
        good = [e for e in off if e <= WRONG_CENTS]
        answered = 100.0 * len(off) / len(batch) if batch else None
        cells += [answered, len(off) - len(good), median(good), percentile(good, 95)]
    return cells


class _Ours:
    """The tracker's last reading up to a moment; each note is heard once."""

    def __init__(self) -> None:
        self._kept: dict[int, list[tuple[float, float]]] = {}

    def __call__(self, note: Note, moment: float) -> float | None:
        if id(note) not in self._kept:
            said = heard(clean(note), PitchTracker)
            self._kept[id(note)] = [(t, r.frequency_hz) for t, r in said]
        before = [hz for t, hz in self._kept[id(note)] if t <= moment]
        return before[-1] if before else None


def _window(note: Note, recent: bool, moment: float) -> Samples:
    start = max(0.0, moment - RECENT_S) if recent else SKIP_S
    first, last = ((note.onset_s + t) * note.rate for t in (start, moment))
    return note.sound[round(first) : round(last)]


def _theirs(estimate: Callable[..., float | None], recent: bool, note: Note, moment: float) -> float | None:
    return estimate(_window(note, recent, moment), note.rate, *note.range)


def _plainly(recent: bool, note: Note, moment: float) -> float | None:
    fit = fitted(_window(note, recent, moment), note.rate, note.nominal_hz)
    return fit.frequency_hz if fit else None


def _conditions(chosen: dict[str, list[Note]], sizes: Sizes) -> Table:
    rows: list[tuple[object, ...]] = []
    for name, batch in chosen.items():
        for condition, spoil in CONDITIONS.items():
            sizes.progress(f"recorded: {name}, {condition}")
            made = figures([spoil(note) for note in batch])
            late = [abs(e) for e, _ in made.errors.get(0.3, [])]
            heard_by = 100.0 * made.answered[0.15] / made.known if made.known else None
            kinds = [made.wrong[kind] for kind in ("octave", "sub", "other", "doubted", "silent")]
            rows.append((name, condition, made.notes, heard_by, *kinds, median(late), percentile(late, 95)))
    columns = ("sounds", "condition", "notes", "by 0.15 s %", "octave", "sub", "other", "doubted", "silent")
    columns += ("median 0.3 s", "95 % 0.3 s")
    goal = "no wrong note; heard as often as clean, less 5 %"
    return Table("recorded_conditions", "Recorded plucks in poor conditions", goal, columns, tuple(rows))
