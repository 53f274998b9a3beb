"""Lists the pages of the menu: one for every key that the buttons can change, with its values in words.

A page lists the values a button can reach. A value that only the file can set (441.5 Hz) is shown, and the
next step leaves it. Pages that only a teacher may change need the two-button chord.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum

from device.config.practice_settings import CountStep, Naming, ReadStep
from device.config.settings import (
    Cores,
    FineTuners,
    Order,
    Pegs,
    Settings,
    Size,
    StringSet,
    Tolerance,
    Tone,
)
from device.practice.count.tempo import TEMPO_MARKS
from dsp import Instrument, Temperament


@dataclass(frozen=True, slots=True)
class Page:
    """One key, as the panel shows it."""

    key: str
    title: str
    values: tuple[object, ...]
    words: Callable[[object], str]
    number: bool = False  # values in order, with two ends; else a round of choices
    leaps: tuple[object, ...] = ()  # where a held button stops
    applies: Callable[[Settings], bool] = lambda _settings: True

    def value(self, settings: Settings) -> object:
        """What is set."""
        return getattr(settings, self.key)

    def onward(self, value: object, step: int, leap: bool = False) -> tuple[object, ...]:
        """The values that follow `value` in the direction of `step`, +1 or -1, the nearest first."""
        if not self.number:
            place = self.values.index(value) if value in self.values else -1
            return tuple(
                self.values[(place + step * i) % len(self.values)] for i in range(1, len(self.values))
            )
        assert isinstance(value, int | float)
        stops = self.leaps if leap and self.leaps else self.values
        numbers = [stop for stop in stops if isinstance(stop, int | float) and (stop - value) * step > 0]
        return tuple(sorted(numbers, key=lambda number: abs(number - value)))


_WORDS: dict[object, str] = {
    Instrument.DOUBLE_BASS: "double bass",
    Size.UNKNOWN: "not known",
    Cores.UNKNOWN: "not known",
    FineTuners.ALL: "on all",
    FineTuners.HIGHEST: "highest only",
    Temperament.EQUAL: "equal",
    Temperament.PURE: "pure",
    StringSet.STEEL: "steel",
    StringSet.PLAIN_GUT_E: "plain gut",
    Order.HIGH_TO_LOW: "high to low",
    Order.A_FIRST: "A first",
    Order.LOW_TO_HIGH: "low to high",
    Order.WHICHEVER_IS_PLUCKED: "as plucked",
    Tolerance.BEGINNER: "beginner, 8",
    Tolerance.USUAL: "usual, 5",
    Tolerance.FINE: "fine, 2",
    Tone.OPEN_STRING: "this string",
    Tone.REFERENCE_A: "the A",
    Tone.FIFTH: "pure fifth",
    Naming.LETTERS: "A B C",
    Naming.LETTERS_WITH_H: "A H C",
    Naming.DO_RE_MI: "do re mi",
    ReadStep.OPEN_STRINGS: "open strings",
    ReadStep.FIRST_FINGER: "first finger",
    ReadStep.ONE_STRING: "one string",
    ReadStep.TWO_STRINGS: "two strings",
    ReadStep.THREE_STRINGS: "three strings",
    ReadStep.ALL_STRINGS: "all strings",
    CountStep.EIGHTH_RESTS: "8th rests",
    CountStep.SIX_EIGHT: "6/8",
}


def _has_pegs(settings: Settings) -> bool:
    return settings.instrument is not Instrument.DOUBLE_BASS  # its machine heads leave no choice


def _is_violin(settings: Settings) -> bool:
    return settings.instrument is Instrument.VIOLIN


def _word(value: object) -> str:
    return _WORDS.get(value, str(value.value) if isinstance(value, Enum) else str(value))


def _yes(value: object) -> str:
    return "yes" if value else "no"


def _choice(key: str, title: str, members: type[Enum]) -> Page:
    return Page(key, title, tuple(members), _word)


def _question(key: str, title: str) -> Page:
    return Page(key, title, (True, False), _yes)


def _number(key: str, title: str, unit: str, values: tuple[float, ...], *leaps: float) -> Page:
    return Page(key, title, values, lambda value: f"{value:g} {unit}", number=True, leaps=leaps)


def _steps(first: int, last: int, step: int = 1) -> tuple[int, ...]:
    return tuple(range(first, last + 1, step))


def _tenths(first: int, last: int, step: int) -> tuple[float, ...]:
    return tuple(tenth / 10.0 for tenth in range(first, last + 1, step))


_IN_USE = (392, 415, 430, 440, 442, 443, 466)  # Hz; reference pitches in use, common practice

LESSON_PAGES: tuple[Page, ...] = (
    _choice("instrument", "Instrument", Instrument),
    _number("reference_hz", "Reference A", "Hz", _steps(380, 480), *_IN_USE),
    _choice("size", "Size", Size),
    replace(_choice("fine_tuners", "Fine tuners", FineTuners), applies=_has_pegs),
    _choice("tolerance", "In tune within", Tolerance),
)
"""What changes from pupil to pupil, for everybody."""

TEACHER_PAGES: tuple[Page, ...] = (
    _question("pegs_by_grown_up", "Grown-up pegs"),
    _choice("cores", "String cores", Cores),
    _question("by_ear", "By ear first"),
    _question("locked", "Lock"),
    _choice("order", "Order", Order),
    _question("left_handed", "Left-handed"),
    replace(_choice("pegs", "Pegs are", Pegs), applies=_has_pegs),
    replace(_choice("string_set", "E string", StringSet), applies=_is_violin),
    _choice("temperament", "Fifths", Temperament),
    _choice("tone", "Tone plays", Tone),
    _question("move_on", "Next by itself"),
    _number("tone_dbfs", "Tone level", "dB", _steps(-40, -12, 2)),
    _number("brightness_percent", "Brightness", "%", _steps(10, 100, 10)),
    _question("upside_down", "Upside down"),
    _number("rest_minutes", "Dark after", "min", (1, 2, 3, 5, 10, 15, 20, 30, 45, 60)),
    _number("hold_s", "Long press", "s", _tenths(4, 30, 2)),
    _number("chord_s", "Teacher hold", "s", _tenths(10, 60, 5)),
    _choice("note_names", "Note names", Naming),
    _question("steps_move", "Steps move on"),
    _choice("read_step", "Read: step", ReadStep),
    _choice("count_step", "Count: step", CountStep),
    _number("tempo_bpm", "Count: tempo", "a min", TEMPO_MARKS, 40, 60, 80, 100, 120, 160),
    _question("six_eight_by_eighths", "6/8 in eighths"),
)
"""Behind the teacher's two buttons: what is a teacher's to decide first, then what is set up once.

Cores are among them, since the safety monitor trusts what it is told: steel cores are the steepest.
"""

PAGES = LESSON_PAGES + TEACHER_PAGES
"""In the order they are turned; a test holds them to the keys that are not for the file alone."""
