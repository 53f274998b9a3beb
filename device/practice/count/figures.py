"""What a bar is made of at each step of Count, easiest first, and how bars are drawn from it.

A figure is a few notes or rests that fill whole beats. Bars are made, not listed: figures are drawn by
chance until the bar is full, and at least one of them is new at the step.

| step | new | time signatures |
|---|---|---|
| steady | quarter, half and whole notes | 4/4, 2/4 |
| three | 3/4, the dotted half | 3/4, 4/4, 2/4 |
| rests | quarter and half rests | 4/4, 3/4 |
| eighths | two eighths to a beat | 4/4, 3/4, 2/4 |
| eighth-rests | an eighth and an eighth rest | 4/4, 3/4, 2/4 |
| dots | the dotted quarter and its eighth | 4/4, 3/4, 2/4 |
| ties | a note held over into the next beat | 4/4, 3/4, 2/4 |
| six-eight | beats of three eighths | 6/8 |

How near a beginning must be is our choice: 120 ms or a third of the shortest time between two of them,
whichever is less, while the first steps are learned, and closer later.
"""

from dataclasses import dataclass

from device.config.practice_settings import CountStep
from device.notation.chance import Chance
from device.notation.lengths import Bar, Length, Metre, NoteValue, bar_of
from dsp import Seconds

Figure = tuple[Length, ...]

_WHOLE, _HALF = Length(NoteValue.WHOLE), Length(NoteValue.HALF)
_QUARTER, _EIGHTH = Length(NoteValue.QUARTER), Length(NoteValue.EIGHTH)
_HALF_DOT, _QUARTER_DOT = Length(NoteValue.HALF, dotted=True), Length(NoteValue.QUARTER, dotted=True)
_HALF_REST, _QUARTER_REST = Length(NoteValue.HALF, rest=True), Length(NoteValue.QUARTER, rest=True)
_EIGHTH_REST = Length(NoteValue.EIGHTH, rest=True)
_EIGHTH_ON, _QUARTER_ON = Length(NoteValue.EIGHTH, tied=True), Length(NoteValue.QUARTER, tied=True)
_DOT_REST = Length(NoteValue.QUARTER, dotted=True, rest=True)


@dataclass(frozen=True, slots=True)
class StepRow:
    """One step: what is new, and in which time signatures."""

    new: tuple[Figure, ...]
    metres: tuple[Metre, ...]
    near_s: Seconds  # at most so far from its moment is right
    new_metre: Metre | None = None  # a bar of it is new whatever fills it


_COMMON = (Metre.FOUR_FOUR, Metre.THREE_FOUR, Metre.TWO_FOUR)
STEP_ROWS: dict[CountStep, StepRow] = {
    CountStep.STEADY: StepRow(
        ((_QUARTER,), (_HALF,), (_WHOLE,)), (Metre.FOUR_FOUR, Metre.TWO_FOUR), Seconds(0.12)
    ),
    CountStep.THREE: StepRow(((_HALF_DOT,),), _COMMON, Seconds(0.12), Metre.THREE_FOUR),
    CountStep.RESTS: StepRow(
        ((_QUARTER_REST,), (_HALF_REST,)), (Metre.FOUR_FOUR, Metre.THREE_FOUR), Seconds(0.12)
    ),
    CountStep.EIGHTHS: StepRow(((_EIGHTH, _EIGHTH),), _COMMON, Seconds(0.11)),
    CountStep.EIGHTH_RESTS: StepRow(
        ((_EIGHTH, _EIGHTH_REST), (_EIGHTH_REST, _EIGHTH)), _COMMON, Seconds(0.1)
    ),
    CountStep.DOTS: StepRow(((_QUARTER_DOT, _EIGHTH),), _COMMON, Seconds(0.09)),
    CountStep.TIES: StepRow(
        ((_EIGHTH, _EIGHTH_ON, _EIGHTH, _EIGHTH), (_QUARTER_ON, _EIGHTH, _EIGHTH)), _COMMON, Seconds(0.08)
    ),
    CountStep.SIX_EIGHT: StepRow(
        (
            (_QUARTER_DOT,),
            (_EIGHTH, _EIGHTH, _EIGHTH),
            (_QUARTER, _EIGHTH),
            (_EIGHTH, _QUARTER),
            (_DOT_REST,),
            (_HALF_DOT,),
        ),
        (Metre.SIX_EIGHT,),
        Seconds(0.08),
    ),
}
_NEW_WEIGHT, _OLD_WEIGHT = 3, 2  # chosen: what is new comes more often
_TRIES = 1000  # draws of a bar; a bar that holds nothing new or too little to pluck is drawn again
_LEAST_PLUCKED = 2


def figures_at(step: CountStep) -> tuple[tuple[Figure, int], ...]:
    """Every figure that a step uses, with its weight; 6/8 has its own."""
    if step is CountStep.SIX_EIGHT:
        return tuple((figure, 1) for figure in STEP_ROWS[step].new)
    steps = tuple(CountStep)
    known = steps[: steps.index(step) + 1]
    return tuple(
        (figure, _NEW_WEIGHT if one is step else _OLD_WEIGHT)
        for one in known
        for figure in STEP_ROWS[one].new
    )


def bar_drawn(step: CountStep, chance: Chance, last: Bar | None = None) -> tuple[Bar, Chance]:
    """A bar of the step, another than the last, with something new in it and two or more beginnings."""
    row = STEP_ROWS[step]
    for _ in range(_TRIES):
        metre, chance = chance.pick(row.metres)
        figures, chance = _filled(step, metre, chance)
        bar = bar_of(metre, [length for figure in figures for length in figure])
        new = metre is row.new_metre or any(figure in row.new for figure in figures)
        if new and bar != last and len(bar.plucked) >= _LEAST_PLUCKED:
            return bar, chance
    raise AssertionError(f"no bar of {step.value} in {_TRIES} draws")


def _filled(step: CountStep, metre: Metre, chance: Chance) -> tuple[tuple[Figure, ...], Chance]:
    """Figures that fill a bar, none across the middle of 4/4 or of 6/8 unless it begins on a strong beat."""
    filled, found = 0, list[Figure]()
    while filled < metre.sixteenths:
        fitting = [(f, w) for f, w in figures_at(step) if _fits(f, filled, metre)]
        figure, chance = chance.pick([f for f, _ in fitting], [w for _, w in fitting])
        filled += _long(figure)
        found.append(figure)
    return tuple(found), chance


def _fits(figure: Figure, filled: int, metre: Metre) -> bool:
    """Whether it may begin here: inside the bar, and a whole beat of 4/4's second half stays visible."""
    end = filled + _long(figure)
    if end > metre.sixteenths:
        return False
    crosses = metre is Metre.FOUR_FOUR and filled % 8 != 0 and filled < 8 < end
    return not (crosses and len(figure) == 1)


def _long(figure: Figure) -> int:
    return sum(length.sixteenths for length in figure)
