"""Pictures of the practices by name, of sessions that are made up."""

from dataclasses import replace

from device.config.practice_settings import CountStep, Naming, ReadStep
from device.config.settings import Settings
from device.notation.lengths import Bar, Length, Metre, NoteValue
from device.notation.pitches import pitch_named
from device.notation.staff import Signature
from device.panel.scene import Scene
from device.practice.count.session import CountPhase, CountState, count_begun
from device.practice.count.timing import judged_bar
from device.practice.read.answers import Answer, Verdict
from device.practice.read.session import NoteMark, ReadPhase, ReadState, read_begun
from device.practice.read.steps import Asked
from device.practice.running import Running
from device.practice.table import practice_named
from dsp import Cents, Instrument, Seconds

W, H, Q, E = (Length(value) for value in NoteValue)
HALF_DOT, QUARTER_DOT = Length(NoteValue.HALF, dotted=True), Length(NoteValue.QUARTER, dotted=True)
HALF_REST, QUARTER_REST, EIGHTH_REST = (
    Length(value, rest=True) for value in (NoteValue.HALF, NoteValue.QUARTER, NoteValue.EIGHTH)
)
WHOLE_REST, TIED = Length(NoteValue.WHOLE, rest=True), Length(NoteValue.EIGHTH, tied=True)
BARS = {
    "whole": Bar(Metre.FOUR_FOUR, (W,)),
    "quarters": Bar(Metre.FOUR_FOUR, (Q, Q, H)),
    "three": Bar(Metre.THREE_FOUR, (HALF_DOT,)),
    "rests": Bar(Metre.FOUR_FOUR, (Q, QUARTER_REST, HALF_REST)),
    "whole-rest": Bar(Metre.FOUR_FOUR, (WHOLE_REST,)),
    "eighths": Bar(Metre.FOUR_FOUR, (E,) * 8),
    "eighth-rests": Bar(Metre.TWO_FOUR, (E, EIGHTH_REST, EIGHTH_REST, E)),
    "dots": Bar(Metre.THREE_FOUR, (QUARTER_DOT, E, Q)),
    "ties": Bar(Metre.THREE_FOUR, (E, TIED, E, E, Q)),
    "six-eight": Bar(Metre.SIX_EIGHT, (E, E, E, Q, E)),
}


def read_state(name: str, fifths: int = 0, instrument: Instrument = Instrument.VIOLIN) -> ReadState:
    """A session that asks for the note of that name."""
    state = read_begun(Settings(instrument=instrument, read_step=ReadStep.ALL_STRINGS), Seconds(0.0))
    pitch = pitch_named(name)
    return replace(state, asked=Asked(pitch, Signature(fifths), pitch))


def told(state: ReadState, verdict: Verdict, heard: str, *, letter: bool = False) -> ReadState:
    """The same with an answer."""
    answer = Answer(verdict, pitch_named(heard), Cents(0.0))
    return replace(state, phase=ReadPhase.TOLD, answer=answer, letter=letter)


def count_state(name: str, phase: CountPhase = CountPhase.READY, beats: float = 0.0) -> CountState:
    """A session that shows a bar of that kind, so many beats after its phase began."""
    state = count_begun(Settings(count_step=CountStep.EIGHTHS), Seconds(0.0))
    return replace(state, bar=BARS[name], phase=phase, now=Seconds(beats * 60.0 / state.tempo_bpm))


def judged(name: str, *moves: float) -> CountState:
    """A bar whose strokes were off by so many seconds; None where there was none."""
    state = count_state(name, CountPhase.TOLD)
    strokes = [Seconds(wanted + off) for wanted, off in zip(state.wanted_s, moves, strict=False)]
    return replace(state, judged=judged_bar(state.wanted_s, strokes, state.near_s))


MARKS = (NoteMark.RIGHT, NoteMark.RIGHT, NoteMark.TOLD, NoteMark.LATER, NoteMark.RIGHT)
READ_PICTURES: dict[str, tuple[ReadState, Settings]] = {
    name: (state, settings)
    for name, state, settings in (
        ("read-asked", read_state("F#4", 2), Settings()),
        ("read-lowest", read_state("G3", 2), Settings()),
        ("read-highest", read_state("B5", 3), Settings()),
        ("read-flat", read_state("Bb4"), Settings()),
        ("read-natural", read_state("F4", 2), Settings()),
        ("read-signature-flats", read_state("Eb4", -2), Settings()),
        ("read-alto", read_state("C3", 1, Instrument.VIOLA), Settings()),
        ("read-bass-clef", read_state("C2", 1, Instrument.CELLO), Settings()),
        ("read-go-down", told(read_state("A4", 2), Verdict.GO_DOWN, "B4"), Settings()),
        ("read-letter", told(read_state("F#4", 2), Verdict.GO_UP, "E4", letter=True), Settings()),
        ("read-octave", told(read_state("A4", 2), Verdict.OCTAVE_UP, "A3"), Settings()),
        ("read-right", told(read_state("A4", 2), Verdict.RIGHT, "A4"), Settings()),
        ("read-a-little-low", told(read_state("C#5", 2), Verdict.A_LITTLE_LOW, "C#5"), Settings()),
        (
            "read-right-sung",
            told(read_state("F#4", 2), Verdict.RIGHT, "F#4"),
            Settings(note_names=Naming.DO_RE_MI),
        ),
        (
            "read-right-h",
            told(read_state("B4", 2), Verdict.RIGHT, "B4"),
            Settings(note_names=Naming.LETTERS_WITH_H),
        ),
        ("read-by-ear", replace(read_state("D5", 2), phase=ReadPhase.HIDDEN), Settings(by_ear=True)),
        (
            "read-summary",
            replace(read_state("A4"), phase=ReadPhase.SUMMARY, marks=(*MARKS, *MARKS[:-1], NoteMark.LEFT)),
            Settings(),
        ),
    )
}
COUNT_PICTURES: dict[str, CountState] = {
    **{f"count-{name}": count_state(name) for name in BARS},
    "count-in": count_state("dots", CountPhase.COUNTING_IN, 1.2),
    "count-playing": count_state("eighths", CountPhase.PLAYING, 1.6),
    "count-told": judged("dots", -0.2, 0.0),
    "count-late": judged("quarters", 0.2, 0.0, 0.0, 0.6),
    "count-extra": replace(
        count_state("quarters", CountPhase.TOLD),
        judged=judged_bar(count_state("quarters").wanted_s, (0.0, 0.48, 1.0, 2.0), Seconds(0.12)),  # type: ignore[arg-type]
    ),
    "count-right": judged("ties", 0.0, 0.0, 0.0, 0.0),
    "count-by-ear": count_state("six-eight", CountPhase.HIDDEN),
}
LIT = {"read-right", "read-a-little-low", "read-right-sung", "read-right-h", "count-right"}
"""What is drawn on a lit panel: the note, or the whole bar, was right."""


def practice_scenes(home: Scene) -> dict[str, dict[str, Scene]]:
    """The scenes of each practice by the names of their pictures."""
    read, count = practice_named("read"), practice_named("count")
    return {
        "read": {
            name: replace(home, settings=settings, practice=Running(read, state))
            for name, (state, settings) in READ_PICTURES.items()
        },
        "count": {
            name: replace(home, practice=Running(count, state)) for name, state in COUNT_PICTURES.items()
        },
    }
