"""Looks for a lesson that breaks a string: varies player, instrument and start, keeps what came nearest.

The search stays among players who heed the pictures: they turn between half and twice as far as
shown, whichever peg the hand is on and whichever way round, some always the wrong way. What is
sought is the highest share of its breaking load that a tightening turn took a string to; from the best
lessons so far new ones are made by changing a few of their traits, and now and then one is drawn afresh,
so that no corner is forgotten. The box may be told a wrong size; another child's string may sound into any
pluck; strings may be plucked out of order or twice, also while all four are called one by one.
"""

import json
import random
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, fields, replace

from demo.lessons.cells import Told, cores_told, staged
from demo.lessons.lesson import SimLesson
from demo.lessons.outcome import LessonOutcome
from demo.mechanics.build import COUPLING_RANGE, HARD_JUMPS, JUMP_CENTS, WIDE_COUPLING, Build, Strings
from demo.mechanics.dimensions import SIZE_LENGTHS
from demo.mechanics.starts import Start, found
from demo.players.characters import Character, Hand
from device.config.settings import Cores, FineTuners, Settings, Size
from device.errors import UsageError
from dsp import Instrument, Seconds

PARENTS_KEPT = 24  # of the best lessons so far, as parents of new ones; chosen
AFRESH = 0.2  # share of lessons that have no parent; chosen
SCREWS = {"all": FineTuners.ALL, "highest": FineTuners.HIGHEST, "none": FineTuners.NONE}


@dataclass(frozen=True, slots=True)
class Trial:
    """Everything one lesson of the search is made from; plain values, so that it can be written down."""

    seed: int = 1
    kind: str = Instrument.VIOLIN.value
    start: str = Start.TONE_FLAT.value
    strings: str = Strings.MIXED.value
    size: str = "4/4"
    size_known: bool = False
    size_told: str = ""  # another size than it has, said to the box by mistake; empty for none
    cores_known: bool = False
    screws: str = "all"
    wide_coupling: bool = False
    sticking: float = 0.3
    hard_jumps: bool = False
    pegs_barred: bool = False
    least: float = 0.5
    most: float = 2.0
    strays: float = 0.0
    any_hand: bool = False
    each_turn: bool = True
    wrong_way: float = 0.0
    wrong_string: float = 0.0
    same_again: float = 0.0
    out_of_order: float = 0.0
    mixes_up: float = 0.0
    dawdles: float = 0.0
    pitchless: float = 0.0
    other_child: float = 0.0
    turns_while_plucking: bool = False
    grown_up_comes: bool = True
    listens: float = 1.2

    @property
    def character(self) -> Character:
        """The player."""
        return Character(
            "sought",
            least=self.least,
            most=max(self.least, self.most),
            strays=self.strays,
            hand=Hand.ANY if self.any_hand else Hand.NEIGHBOUR,
            each_turn=self.each_turn,
            dawdles=self.dawdles,
            wrong_way=self.wrong_way,
            wrong_string=self.wrong_string,
            same_again=self.same_again,
            out_of_order=self.out_of_order,
            mixes_up=self.mixes_up,
            turns_while_plucking=self.turns_while_plucking,
            learns=False,
            pitchless=self.pitchless,
            other_child=self.other_child,
            grown_up_comes=self.grown_up_comes,
            listens=Seconds(self.listens),
            reads=self.listens > 0.6,
        )

    def lesson(self) -> SimLesson:
        """The lesson, not yet played."""
        kind = Instrument(self.kind)
        build = Build(
            kind,
            size=self.size if kind is Instrument.VIOLIN else "4/4",
            screws=self.screws,
            cores=Strings(self.strings),
            coupling=WIDE_COUPLING if self.wide_coupling else COUPLING_RANGE,
            sticking=self.sticking,
            jumps=HARD_JUMPS if self.hard_jumps else JUMP_CENTS,
        )
        settings = Settings(
            instrument=kind,
            size=self._told(build),
            cores=cores_told(build) if self.cores_known else Cores.UNKNOWN,
            pegs_by_grown_up=self.pegs_barred,
            fine_tuners=SCREWS[self.screws],
        )
        instrument = found(Start(self.start), build, settings.targets, random.Random(self.seed))
        hand = random.Random(f"hand/{self.seed}")
        return staged(self.character, Told.COACH, settings, instrument=instrument, hand=hand)

    def _told(self, build: Build) -> Size:
        if self.size_told and build.kind is Instrument.VIOLIN:
            return Size(self.size_told)
        return Size(build.size) if self.size_known else Size.UNKNOWN

    def written(self) -> str:
        """As one line of JSON, only what is not usual."""
        usual = asdict(Trial())
        return json.dumps({k: v for k, v in asdict(self).items() if v != usual[k] or k == "seed"})


CHOICES: dict[str, tuple[object, ...]] = {
    "kind": (Instrument.VIOLIN.value,) * 5 + tuple(i.value for i in Instrument),
    "start": tuple(s.value for s in Start if s not in {Start.ANOTHER_KIND, Start.ANOTHER_SIZE}),
    "strings": tuple(s.value for s in Strings),
    "size": tuple(SIZE_LENGTHS),
    "size_told": ("",) * len(SIZE_LENGTHS) + tuple(SIZE_LENGTHS),
    "screws": ("all", "all", "highest", "none"),
    "listens": (1.2, 1.2, 0.8, 0.3),
    "wrong_way": (0.0,) * 6 + (0.1, 0.25, 0.5, 1.0, 1.0),
}
UP_TO: dict[str, tuple[float, float]] = {
    "sticking": (0.0, 1.0),
    "least": (0.5, 2.0),
    "most": (0.5, 2.0),
    "strays": (0.0, 1.0),
    "wrong_string": (0.0, 1.0),
    "same_again": (0.0, 1.0),
    "out_of_order": (0.0, 1.0),
    "mixes_up": (0.0, 1.0),
    "dawdles": (0.0, 0.6),
    "pitchless": (0.0, 0.6),
    "other_child": (0.0, 1.0),
}
SELDOM = ("dawdles", "pitchless", "other_child", "wrong_string", "mixes_up", "same_again", "out_of_order")
"""Half the time none of these: a player with all vices at once gets nowhere."""


@dataclass(order=True, slots=True)
class Found:
    """A lesson played, by how near it came to breaking a string."""

    nearest: float
    trial: Trial = field(compare=False)
    outcome: LessonOutcome = field(compare=False)


def trial_of(text: str) -> Trial:
    """The trial written in JSON; UsageError where it is none."""
    try:
        return replace(Trial(), **json.loads(text))
    except (ValueError, TypeError) as error:
        raise UsageError(f"--trial {text} is not a lesson as --search prints them: {error}") from error


def fresh(rng: random.Random) -> Trial:
    """Any lesson at all."""
    trial = Trial(seed=rng.randrange(1 << 30))
    for name in (f.name for f in fields(Trial) if f.name != "seed"):
        trial = _changed(trial, name, rng)
    return trial


def varied(parent: Trial, rng: random.Random) -> Trial:
    """The parent with one to three traits changed; half the time with other luck, too."""
    names = [f.name for f in fields(Trial) if f.name != "seed"]
    trial = parent
    for name in rng.sample(names, rng.randint(1, 3)):
        trial = _changed(trial, name, rng)
    return replace(trial, seed=rng.randrange(1 << 30)) if rng.random() < 0.5 else trial


def _changed(trial: Trial, name: str, rng: random.Random) -> Trial:
    value: object
    if name in CHOICES:
        value = rng.choice(CHOICES[name])
    elif name in UP_TO:
        low, high = UP_TO[name]
        value = 0.0 if name in SELDOM and rng.random() < 0.5 else round(rng.uniform(low, high), 3)
    else:
        value = rng.random() < 0.5
    return replace(trial, **{name: value})  # type: ignore[arg-type]


def search(
    seed: int, go_on: Callable[[int], bool], tell: Callable[[Found], None] = lambda _found: None
) -> tuple[int, list[Found]]:
    """Play lessons while `go_on(played)`: how many, and the nearest, the nearest first.

    `tell` hears of every lesson that came nearer than any before, and of every string that broke.
    """
    rng = random.Random(f"search/{seed}")
    best: list[Found] = []
    played = 0
    while go_on(played):
        afresh = not best or rng.random() < AFRESH
        trial = fresh(rng) if afresh else varied(rng.choice(best[: 1 + rng.randrange(len(best))]).trial, rng)
        outcome = trial.lesson().run()
        played += 1
        found = Found(outcome.nearest + outcome.broken, trial, outcome)
        if not best or found > best[0] or outcome.broken:
            tell(found)
        best = sorted([*best, found], reverse=True)[:PARENTS_KEPT]
    return played, best


def for_minutes(minutes: float) -> Callable[[int], bool]:
    """Whether so many minutes are not over yet."""
    end = time.monotonic() + 60.0 * minutes
    return lambda _played: time.monotonic() < end


def for_lessons(count: int) -> Callable[[int], bool]:
    """Whether fewer than so many lessons were played."""
    return lambda played: played < count
