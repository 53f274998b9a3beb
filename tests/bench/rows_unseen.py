"""Row on plucked instruments that chose nothing: sampled ones of two sound fonts, and a loop of known pitch.

What is asked is whether the stated errors hold on a kind of string that no constant was chosen on.
"""

from collections.abc import Iterator

from dsp import Hz, Instrument
from tests import sound_fonts
from tests.bench.common import FIRST_SEED, RATE, Sizes, names, open_frequency
from tests.bench.recorded_conditions import clean
from tests.bench.recorded_figures import COLUMNS, figures
from tests.bench.recorded_notes import LEAD_S, Note
from tests.bench.report import Table
from tests.bench.waveguide import looped_string

# General MIDI programs, counted from 0, of bank 0, and the keys they are played on
SAMPLED = {
    "gut-strung guitar": (24, range(45, 77, 3)),
    "steel-strung guitar": (25, range(45, 77, 3)),
    "plucked double bass": (32, range(28, 52, 3)),
    "harp": (46, range(48, 84, 3)),
    "banjo": (105, range(48, 76, 3)),
    "long zither": (107, range(48, 76, 3)),
}


def unseen(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    reason = sound_fonts.missing()
    if reason:
        sizes.progress(f"unseen: sound fonts left out, {reason}")
    for label, (program, keys) in {} if reason else SAMPLED.items():
        sizes.progress(f"unseen: {label}")
        step = max(1, round(0.25 / sizes.scale))
        batch = [note for note in _sampled(label, program, list(keys)[::step]) if note.truth]
        rows.append(figures([clean(note) for note in batch]).row(label))
    sizes.progress("unseen: loops")
    loops = [_loop(i) for i in range(sizes.of(60))]
    rows.append(figures([clean(note) for note in loops]).row("Karplus & Strong's loop, pitch known"))
    goal = "60..80 % inside 1, at least 90 % inside 2 stated errors; none wrong; truth as of recordings"
    return [Table("unseen", "Plucked strings of a kind that chose nothing", goal, COLUMNS, tuple(rows))]


def _sampled(label: str, program: int, keys: list[int]) -> Iterator[Note]:
    for font in sound_fonts.FONTS.values():
        for key, sound in sound_fonts.notes(font, program, keys).items():
            pitch = Hz(440.0 * 2.0 ** ((key - 69) / 12.0))
            yield Note(label, f"{font.stem} {key}", True, pitch, RATE, sound[round(LEAD_S * RATE) :])


def _loop(index: int) -> Note:
    instrument = tuple(Instrument)[index % 4]
    name = names(instrument)[index // 4 % 4]
    sound, pitch = looped_string(open_frequency(instrument, name), 1.4, FIRST_SEED + index)
    return Note.made("loop", f"{name} {index}", pitch, RATE, sound[round(LEAD_S * RATE) :])
