"""Readings drawn from measured courses: what the tracker said of one pluck, from the first reading on.

A course is kept whole, since its errors hang together: who hears a start 20 cents sharp hears the rest of
that pluck sharp, too. `demo.measure` writes them; some claim a drift though nobody turned, and a pluck
that was not heard is one without readings.
"""

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from demo.lessons.ears import PLUCK_DBFS, Sound
from demo.reading_table import COURSES
from device.events import Heard
from dsp import Cents, Hz, Seconds, shifted

LATER_S = 0.2  # from reading to reading, where a string is listened to for longer than was measured
LESS_SURE = 0.02  # cents of standard error a cent a second of a string that is turned
TENTHS = 10.0
HUNDREDTHS = 100.0


@dataclass(frozen=True, slots=True)
class CourseReading:
    """One reading of a course."""

    since_s: float  # the pluck
    error: float  # cents from where the string settles, sharp positive
    std_error: float  # cents
    drift: float  # cents a second that are claimed


Course = tuple[CourseReading, ...]
"""The readings of one pluck, in order of time; empty where it was not heard."""


def course_text(course: Course) -> str:
    """A course as the table has it: hundredths of a second, tenths of a cent twice, and any drift."""
    return ",".join(_reading_text(reading) for reading in course)


def course_of(text: str) -> Course:
    """The course written so."""
    return tuple(_course_reading(part.split()) for part in text.split(",") if part.strip())


def _reading_text(reading: CourseReading) -> str:
    numbers = (
        round(HUNDREDTHS * reading.since_s),
        round(TENTHS * reading.error),
        round(TENTHS * reading.std_error),
        round(reading.drift),
    )
    return " ".join(str(number) for number in (numbers if numbers[3] else numbers[:3]))


def _course_reading(words: Sequence[str]) -> CourseReading:
    since, error, std_error, drift = (float(word) for word in (*words, "0")[:4])
    return CourseReading(since / HUNDREDTHS, error / TENTHS, std_error / TENTHS, drift)


@cache
def courses_near(hz: Hz) -> tuple[Course, ...]:
    """The courses of the open string nearest in pitch."""
    return _courses(min(COURSES, key=lambda name: abs(math.log(COURSES[name][0] / hz))))


@cache
def _courses(name: str) -> tuple[Course, ...]:
    return tuple(course_of(text) for text in COURSES[name][1])


class TableReadings:
    """The tracker's measured courses in its place: the same readings at a thousandth of the cost."""

    def __init__(self, rng: random.Random) -> None:
        self._rng = rng

    def of(self, sound: Sound, number: int) -> Sequence[Heard]:
        """Readings whose errors follow one course of the string nearest in pitch."""
        listens = sound.pluck.listens
        nearly = Hz(float(max(round(sound.pitch(Seconds(0.0))), 1)))  # a slack string may go below 1 Hz
        course = self._rng.choice(courses_near(nearly))
        taken = [reading for reading in course if reading.since_s <= listens]
        if taken and len(taken) == len(course):
            taken += _later(taken[-1], listens)
        return [_heard(reading, sound, number) for reading in taken]


def _later(last: CourseReading, listens: Seconds) -> list[CourseReading]:
    """The last reading again, as often as there is time for."""
    times = int((listens - last.since_s) / LATER_S)
    steps = (last.since_s + LATER_S * (n + 1) for n in range(times))
    return [CourseReading(since, last.error, last.std_error, last.drift) for since in steps]


def _heard(reading: CourseReading, sound: Sound, number: int) -> Heard:
    since = Seconds(reading.since_s)
    drift = sound.drift(since)
    return Heard(
        at=Seconds(sound.at + reading.since_s),
        pluck=number,
        frequency_hz=shifted(sound.pitch(since), Cents(reading.error)),
        std_error_cents=Cents(reading.std_error + LESS_SURE * abs(drift)),
        octave_doubt=0.0,
        drift_cents_per_s=drift + reading.drift,
        level_dbfs=PLUCK_DBFS,
        since_pluck_s=since,
    )
