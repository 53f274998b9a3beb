"""Names every picture of the box: scenes of invented lessons, for the tests and the README."""

from dataclasses import dataclass, replace

from device.config.settings import Order, Pegs, Settings
from device.controls.menu import FROM_FILE, Rules, menu_view, open_menu
from device.controls.menu_pages import LESSON_PAGES, PAGES
from device.instrument.rotation import push_in_needed
from device.instrument.tuning_parts import Amount, Direction, TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.state import Coach, Mark, Phase, StringState
from device.panel.drawing.notices import GROWN_UP_S
from device.panel.drawing.turn_field import SPELLED_S
from device.panel.scene import Fault, Guess, Judged, Scene
from dsp import Cents, Instrument, OpenString, Seconds
from tests.coaching import turn_advice
from tests.practice_scenes import practice_scenes

VIOLIN = Settings()
CELLO = Settings(instrument=Instrument.CELLO)
VIOLA = Settings(instrument=Instrument.VIOLA)
LEFT_CELLO = Settings(instrument=Instrument.CELLO, left_handed=True)
BASS = Settings(instrument=Instrument.DOUBLE_BASS)
LEFT_HANDED = Settings(left_handed=True)
ANY_STRING = Settings(order=Order.WHICHEVER_IS_PLUCKED)
GEARED = Settings(pegs=Pegs.GEARED)
FIVE = Settings(retuned=tuple(OpenString.named(name) for name in ("C3", "G3", "D4", "A4", "E5")))
SCORDATURA = Settings(retuned=tuple(OpenString.named(name) for name in ("Bb3", "D4", "F#4", "D5")))
NOT_AS_IN_THE_FILE = frozenset({"instrument", "reference_hz"})
HAND_RINGING = Seconds(0.6)  # the moment a pluck's second picture begins
BUTTONS_SHOWN = Seconds(6.5)  # a moment after the row of buttons came up by itself
USUAL_MARKS = (Mark.TO_DO, Mark.TO_DO, Mark.TO_DO, Mark.RIGHT)
PLUCK = Advice()
TIGHTEN, LOOSEN = Direction.TIGHTEN, Direction.LOOSEN


@dataclass(frozen=True, slots=True)
class Shown:
    """One picture: a scene at a moment."""

    scene: Scene
    at: Seconds = Seconds(0.0)


def lesson(  # noqa: PLR0913 - one short line a picture
    string: str,
    advice: Advice = PLUCK,
    cents: float | None = None,
    *,
    settings: Settings = VIOLIN,
    phase: Phase = Phase.GUIDING,
    marks: tuple[Mark, ...] = USUAL_MARKS,
    error: float = 0.3,
    starts: tuple[float | None, ...] = (-31.0, 12.0, -18.0, 7.0),
    at: float = 0.0,
) -> Shown:
    """A lesson of which all but `string` and what is said is made up."""
    names = tuple(settings.targets)
    padded = (marks * 2)[: len(names)]
    strings = tuple(
        StringState(name, mark, None if start is None else Cents(start))
        for name, mark, start in zip(names, padded, (starts * 2)[: len(names)], strict=True)
    )
    known = None if cents is None else Cents(cents)
    coach = Coach(
        phase, string, Seconds(0.0), strings, known, None if known is None else Cents(error), advice
    )
    return Shown(Scene(settings, coach), Seconds(at))


def turn(  # noqa: PLR0913 - one short line a picture
    string: str,
    what: TuningPart,
    direction: Direction,
    amount: Amount,
    cents: float,
    *,
    settings: Settings = VIOLIN,
    say: Say = Say.TURN,
    asked: str | None = None,
    at: float = 0.0,
) -> Shown:
    """A turn as the coach would ask for it."""
    push_in = push_in_needed(what, settings)
    advice = replace(turn_advice(string, what, direction, amount, settings), say=say, push_in=push_in)
    return lesson(asked or string, advice, cents, settings=settings, at=at)


def _main_job() -> dict[str, Shown]:
    screw = TuningPart.FINE_TUNER
    return {
        "waiting": lesson("A4", phase=Phase.WAITING),
        "waiting-ringing": lesson("A4", phase=Phase.WAITING, at=HAND_RINGING),
        "listening": lesson("A4", phase=Phase.LISTENING),
        "flat-more": turn("A4", screw, TIGHTEN, Amount.MORE, -43.0),
        "flat-a-little": turn("A4", screw, TIGHTEN, Amount.A_LITTLE, -21.0),
        "flat-a-hair": turn("A4", screw, TIGHTEN, Amount.A_HAIR, -10.0),
        "sharp-a-little": turn("E5", screw, LOOSEN, Amount.A_LITTLE, 24.0),
        "sharp-a-hair": turn("G3", screw, LOOSEN, Amount.A_HAIR, 11.0),
        "unsure": lesson("D4", Advice(Say.PLUCK_AGAIN), -14.0, error=6.0),
        "right": lesson("A4", Advice(Say.RIGHT), 1.2, phase=Phase.RIGHT),
        "far-off": lesson("D4", Advice(Say.ASK_TEACHER), -214.0),
        "all-right": lesson("G3", Advice(Say.ALL_RIGHT), phase=Phase.FINISHED, marks=(Mark.RIGHT,) * 4),
    }


def _pegs() -> dict[str, Shown]:
    peg = TuningPart.PEG
    return {
        "peg-G-tighten": turn("G3", peg, TIGHTEN, Amount.A_LITTLE, -143.0),
        "peg-D-tighten": turn("D4", peg, TIGHTEN, Amount.MORE, -310.0),
        "peg-A-loosen": turn("A4", peg, LOOSEN, Amount.A_HAIR, 120.0),
        "peg-E-tighten": turn("E5", peg, TIGHTEN, Amount.A_HAIR, -90.0),
        "peg-geared": turn("D4", peg, TIGHTEN, Amount.A_LITTLE, -120.0, settings=GEARED),
        "peg-left-handed": turn("G3", peg, TIGHTEN, Amount.A_LITTLE, -143.0, settings=LEFT_HANDED),
        "peg-cello": turn("C2", peg, TIGHTEN, Amount.A_LITTLE, -143.0, settings=CELLO),
        "screw-cello": turn("C2", TuningPart.FINE_TUNER, TIGHTEN, Amount.A_LITTLE, -23.0, settings=CELLO),
        "bass-tighten": turn("A1", peg, TIGHTEN, Amount.MORE, -43.0, settings=BASS),
        "bass-tighten-word": turn("A1", peg, TIGHTEN, Amount.MORE, -43.0, settings=BASS, at=SPELLED_S),
        "bass-loosen": turn("G2", peg, LOOSEN, Amount.A_HAIR, 9.0, settings=BASS),
        "five-screw": turn("G3", TuningPart.FINE_TUNER, TIGHTEN, Amount.A_LITTLE, -23.0, settings=FIVE),
        "five-peg": turn("G3", peg, TIGHTEN, Amount.A_LITTLE, -123.0, settings=FIVE),
        "retuned": turn("F#4", TuningPart.FINE_TUNER, TIGHTEN, Amount.A_LITTLE, -23.0, settings=SCORDATURA),
        "retuned-flat": turn("Bb3", TuningPart.FINE_TUNER, LOOSEN, Amount.A_HAIR, 9.0, settings=SCORDATURA),
    }


def _advice() -> dict[str, Shown]:
    screw, peg = TuningPart.FINE_TUNER, TuningPart.PEG
    return {
        "say-pluck-again": lesson("A4", Advice(Say.PLUCK_AGAIN)),
        "say-come-up": turn("A4", screw, TIGHTEN, Amount.A_HAIR, -9.0, say=Say.COME_UP),
        "say-push-in": turn("D4", peg, TIGHTEN, Amount.A_LITTLE, -190.0, say=Say.PUSH_IN),
        "say-loosen-back": turn("D4", peg, LOOSEN, Amount.A_LITTLE, 60.0, say=Say.LOOSEN_BACK, asked="A4"),
        "say-back-out": turn("E5", screw, LOOSEN, Amount.MORE, -20.0, say=Say.BACK_OUT),
        "say-turn-on": turn("A4", screw, TIGHTEN, Amount.A_LITTLE, -35.0, say=Say.TURN_ON),
        "say-other-string": lesson("A4", Advice(Say.OTHER_STRING, heard="D4")),
        "say-other-string-higher": lesson("D4", Advice(Say.OTHER_STRING, heard="E5")),
        "say-pluck-others": lesson("D4", Advice(Say.PLUCK_OTHERS, string="G3")),
        "say-pluck-all": lesson("A4", Advice(Say.PLUCK_ALL, string="D4")),
        "say-check": lesson("A4", Advice(Say.CHECK), marks=(Mark.RIGHT,) * 3 + (Mark.DRIFTED,)),
        "say-too-fast": lesson("D4", Advice(Say.TOO_FAST)),
        "say-no-pitch": lesson("A4", Advice(Say.NO_PITCH)),
        "say-check-bridge": lesson("G3", Advice(Say.CHECK_BRIDGE)),
        "say-wait": lesson("A4", Advice(Say.WAIT), at=1.0),
        "say-grown-up": lesson(
            "D4", Advice(Say.GROWN_UP), marks=(Mark.TO_DO, Mark.GROWN_UP, Mark.RIGHT, Mark.DRIFTED)
        ),
        "say-grown-up-hold": lesson("D4", Advice(Say.GROWN_UP), at=GROWN_UP_S),
        "say-grown-up-bass": lesson("A1", Advice(Say.GROWN_UP), settings=BASS),
        "say-ask-teacher": lesson("G3", Advice(Say.ASK_TEACHER)),
        "end-stays-off": lesson(
            "G3",
            Advice(Say.STAYS_OFF),
            phase=Phase.FINISHED,
            marks=(Mark.RIGHT, Mark.GROWN_UP, Mark.DRIFTED, Mark.RIGHT),
            starts=(-31.0, -214.0, -18.0, None),
        ),
    }


def _alarms() -> dict[str, Shown]:
    return {f"warning-{alarm.value}": lesson("A4", Advice(Say.WAIT, warning=alarm)) for alarm in Alarm}


def _others() -> dict[str, Shown]:
    plain = lesson("A4", phase=Phase.WAITING).scene
    flat = turn("A4", TuningPart.FINE_TUNER, TIGHTEN, Amount.A_LITTLE, -21.0).scene
    faults = {f"fault-{fault.value}": Shown(replace(plain, fault=fault)) for fault in Fault}
    unusual = Settings(instrument=Instrument.VIOLA, reference_hz=VIOLIN.reference_hz + 2)  # type: ignore[arg-type]
    return {
        **faults,
        "resting": Shown(replace(plain, resting=True)),
        "sounding": Shown(replace(plain, sounding="A4")),
        "sounding-fifth": Shown(replace(plain, sounding="D4 A4")),
        "by-ear": Shown(replace(lesson("A4", phase=Phase.LISTENING).scene, by_ear=True)),
        "by-ear-yes": Shown(replace(flat, judged=Judged(Guess.FLAT, True))),
        "by-ear-no": Shown(replace(flat, judged=Judged(Guess.SHARP, False))),
        "not-followed": Shown(replace(plain, unfollowed=True)),
        "waiting-unusual": Shown(
            replace(lesson("A4", phase=Phase.WAITING, settings=unusual).scene, unusual=NOT_AS_IN_THE_FILE)
        ),
        "waiting-any": lesson("E5", phase=Phase.WAITING, settings=ANY_STRING, at=1.0),
        "waiting-bass": lesson("E1", phase=Phase.WAITING, settings=BASS),
    }


def _menu() -> dict[str, Shown]:
    """Every page as the box opens it, and a value while it is changed."""
    home, rules = lesson("A4", phase=Phase.WAITING).scene, Rules(VIOLIN, lambda _settings: ())

    def at(page: str, *, changing: bool = False, settings: Settings = VIOLIN) -> Shown:
        teacher = page not in {page.key for page in LESSON_PAGES}
        menu = replace(open_menu(settings, Seconds(0.0)), page=page, changing=changing, teacher=teacher)
        return Shown(replace(home, settings=settings, menu=menu_view(menu, settings, rules)))

    pages = {f"menu-{page.key.replace('_', '-')}": at(page.key) for page in PAGES}
    return {
        "home-press": lesson("A4", phase=Phase.WAITING, at=BUTTONS_SHOWN),
        "home-hold": lesson("A4", phase=Phase.WAITING, at=BUTTONS_SHOWN + 3.0),
        **pages,
        "menu-from-file": at(FROM_FILE),
        "menu-changing": at("reference_hz", changing=True),
        "menu-shut": at("instrument", settings=replace(VIOLIN, locked=True)),
    }


def _practices() -> dict[str, dict[str, Shown]]:
    """What follows a lesson whose strings are right."""
    home = lesson("A4", phase=Phase.WAITING).scene
    return {
        group: {name: Shown(scene) for name, scene in scenes.items()}
        for group, scenes in practice_scenes(home).items()
    }


GROUPS = {
    "main": _main_job(),
    "pegs": _pegs(),
    "advice": _advice(),
    "warnings": _alarms(),
    "others": _others(),
    "menu": _menu(),
    **_practices(),
}
PICTURES: dict[str, Shown] = {name: shown for group in GROUPS.values() for name, shown in group.items()}
