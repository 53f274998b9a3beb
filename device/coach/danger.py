"""The rules after STOP: another instrument, another reference pitch, too fast."""

from dataclasses import replace

from device.coach.case import PLACE_ABOVE, Case, Outcome, heard_at, proof_at, warned
from device.coach.limits import PACE, load_share
from device.coach.stop import HEARD_IN_PLACE
from device.lesson.state import Alarm
from dsp import OPEN_STRINGS, Cents, Hz, Instrument, cents, string_frequencies

NEAR_A_PLACE = Cents(50.0)  # so near to an open string it may well be that one
OCTAVE = Cents(1200.0)
ALIKE_FROM, ALIKE_TO = Cents(60.0), Cents(140.0)  # all strings off by so much: another reference pitch
ALIKE_WITHIN = Cents(20.0)  # and so near to each other
ALIKE_STRINGS = 3  # at least so many were heard
TENSION_PER_CENT = 2.0 * 0.6931471805599453 / 1200.0  # relative; T goes with f squared


def another_instrument(case: Case) -> Outcome | Case:
    """An open string only another instrument has, two strings an octave off, or far too sharp."""
    lesson = case.lesson
    if abs(abs(case.cents) - OCTAVE) <= NEAR_A_PLACE and case.like_before:
        lesson = replace(lesson, octaves=tuple(dict.fromkeys((*lesson.octaves, case.string))))
    case = replace(case, lesson=lesson)
    if case.proved or case.in_place(case.string):
        return case
    too_sharp = case.nearest == case.string and case.cents > PLACE_ABOVE
    if too_sharp or len(lesson.octaves) > 1 or _foreign(case):
        return warned(case, Alarm.ANOTHER_INSTRUMENT)
    return case


def _foreign(case: Case) -> bool:
    """Whether the reading is an open string of an instrument that nothing heard so far rules out."""
    if abs(case.off(case.nearest)) <= NEAR_A_PLACE:
        return False
    return any(
        any(abs(cents(case.hz, hz)) <= NEAR_A_PLACE for hz in _places(case, instrument))
        and not _ruled_out(case, instrument)
        for instrument in Instrument
        if instrument is not case.settings.instrument
    )


def _places(case: Case, instrument: Instrument) -> tuple[Hz, ...]:
    return string_frequencies(OPEN_STRINGS[instrument], case.settings.reference_hz)


def _ruled_out(case: Case, instrument: Instrument) -> bool:
    """A string was heard in its place that `instrument` does not have."""
    theirs = {string.name for string in OPEN_STRINGS[instrument]}
    return any(
        known.name not in theirs
        and known.hz is not None
        and abs(cents(known.hz, case.targets[known.name])) <= HEARD_IN_PLACE
        for known in case.lesson.known
        if known.name in case.targets
    )


def another_reference(case: Case) -> Outcome | None:
    """All strings were off alike when first heard: not slack, but tuned to another A."""
    if case.lesson.reference_asked or not case.in_place(case.string):
        return None
    lesson = heard_at(case, case.string).lesson
    first = [
        cents(known.first_hz, case.targets[known.name])
        for known in lesson.known
        if known.first_hz is not None and known.name in case.targets
    ]
    alike = (
        len(first) >= ALIKE_STRINGS
        and max(first) - min(first) <= ALIKE_WITHIN
        and all(ALIKE_FROM <= abs(off) <= ALIKE_TO for off in first)
    )
    return warned(replace(case, lesson=lesson), Alarm.ANOTHER_REFERENCE) if alike else None


def slowly(case: Case) -> Outcome | None:
    """More of the breaking load since the last pluck, or within a second, than is safe."""
    before, now = case.known.hz, load_share(case.string, case.hz, case.settings)
    step = 0.0 if before is None else now - load_share(case.string, before, case.settings)
    in_a_second = now * case.drift_cents_per_s * TENSION_PER_CENT
    if max(step, in_a_second) <= PACE:
        return None
    noted = heard_at(case, case.string)
    lesson = replace(noted.lesson, turned=None, others=None, proof=proof_at(case))
    return warned(replace(noted, lesson=lesson), Alarm.SLOWLY)
