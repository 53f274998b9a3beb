"""Row on several hundred notes of both sound fonts, resampled: is a string heard, and as the right note?"""

from collections.abc import Iterator

import numpy as np

from dsp import Cents, Hz, Instrument, PitchTracker, Samples, shifted
from tests import sound_fonts
from tests.bench.common import RATE, Sizes
from tests.bench.peers import available
from tests.bench.recorded_figures import Scene, heard
from tests.bench.recorded_notes import LEAD_S, Note
from tests.bench.report import Table, share

# General MIDI programs, counted from 0, of bank 0; keys from the lowest open string up
SOUNDS = {
    "violin, bowed": (Instrument.VIOLIN, 40, range(55, 83, 2)),
    "viola, bowed": (Instrument.VIOLA, 41, range(48, 76, 2)),
    "double bass, bowed": (Instrument.DOUBLE_BASS, 43, range(28, 46, 2)),
    "double bass, plucked": (Instrument.DOUBLE_BASS, 32, range(28, 46, 2)),
}
SHIFTS = (-37.3, 0.0, 23.1, 41.9, -12.7, 33.3)  # cents; 6 of 46 notes in two fonts are 552
LATEST_S = 1.1  # after the onset: no reading by then is silence
WINDOW_S = 0.5  # the other methods hear the stretch before this moment
MOMENT_S = 0.6
WRONG_CENTS = 60.0  # of vibrato, sections and the fonts' own tuning


def notes(sizes: Sizes) -> list[Table]:
    reason = sound_fonts.missing()
    if reason:
        sizes.progress(f"notes: left out, {reason}")
        return []
    scenes = list(_scenes(sizes))
    ours, rows = _ours(scenes), []
    rows.append(("Wallpeg", len(scenes), *ours))
    for method, estimate in available().items():
        sizes.progress(f"notes: {method}")
        answers = [(estimate(_window(s), s.rate, *s.note.range), s.note.nominal_hz) for s in scenes]
        off = [abs(1200.0 * np.log2(hz / target)) for hz, target in answers if hz is not None]
        wrong = sum(o > WRONG_CENTS for o in off)
        rows.append(
            (method, len(scenes), share(len(scenes) - len(off), len(scenes)), share(wrong, len(scenes)), None)
        )
    columns = ("method", "notes", "silent", "wrong", "wrong and not doubted")
    goal = "none wrong without a doubt; at most 1 % silent. Wrong: over 60 cents off; ours: any reading"
    return [Table("notes", "Notes of sound fonts, resampled", goal, columns, tuple(rows))]


def _scenes(sizes: Sizes) -> Iterator[Scene]:
    shifts = SHIFTS[: max(1, round(len(SHIFTS) * min(1.0, sizes.scale * 5.0)))]
    for font in sound_fonts.FONTS.values():
        for label, (instrument, program, keys) in SOUNDS.items():
            sizes.progress(f"notes: {font.stem}, {label}")
            for key, sound in sound_fonts.notes(font, program, list(keys)).items():
                for shift in shifts:
                    yield _scene(instrument, f"{label} {key}", key, sound, shift)


def _scene(instrument: Instrument, label: str, key: int, sound: Samples, shift: float) -> Scene:
    from tests.bench.rooms import resampled

    pitch = Hz(shifted(Hz(440.0), Cents(100.0 * (key - 69) + shift)))
    moved = resampled(sound, 2.0 ** (shift / 1200.0))
    note = Note.made(instrument.value, label, pitch, RATE, moved[round(LEAD_S * RATE) :])
    return Scene(note, moved, RATE)


def _ours(scenes: list[Scene]) -> tuple[str, str, str]:
    """Silent, wrong, wrong without a doubt."""
    silent = wrong = certain = 0
    for scene in scenes:
        said = [r for t, r in heard(scene, PitchTracker) if t <= LATEST_S]
        off = [r for r in said if abs(1200.0 * np.log2(r.frequency_hz / scene.note.nominal_hz)) > WRONG_CENTS]
        silent += not said
        wrong += bool(off)
        certain += any(r.octave_doubt <= 0.5 for r in off)
    return tuple(share(n, len(scenes)) for n in (silent, wrong, certain))  # type: ignore[return-value]


def _window(scene: Scene) -> Samples:
    last = round((LEAD_S + MOMENT_S) * scene.rate)
    return scene.sound[last - round(WINDOW_S * scene.rate) : last]
