"""Row on sampled instruments that chose nothing; `tests/sampled_notes.py` says which packages they are."""

from tests import sampled_notes
from tests.bench.common import Sizes
from tests.bench.recorded_conditions import clean
from tests.bench.recorded_figures import COLUMNS, figures
from tests.bench.report import Table


def sampled(sizes: Sizes) -> list[Table]:
    if reason := sampled_notes.missing():
        sizes.progress(f"sampled: left out, {reason}")
        return []
    rows: list[tuple[object, ...]] = []
    every = max(1, round(1.0 / sizes.scale))
    for name, kinds in sampled_notes.AS.items():
        for kind in kinds:
            label = f"{name}, {'bowed' if name in sampled_notes.BOWED else 'plucked'}, as on a {kind.value}"
            sizes.progress(f"sampled: {label}")
            batch = list(sampled_notes.notes(name, kind))[::every]
            rows.append(figures([clean(note) for note in batch]).row(label))
    goal = (
        "none silent or wrong; inside 2 stated errors at least 90 % (the harp; guitars were re-pitched half "
        "a second after the pluck, bowed notes swing by 10 to 50 cents, so their errors say less)"
    )
    return [Table("sampled", "Sampled instruments that chose nothing", goal, COLUMNS, tuple(rows))]
