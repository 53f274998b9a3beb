"""Row on the dearest second of sound: a search for what costs the tracker most, in steps and in instructions.

A sound here is a recipe: some partial tones, how often something new begins, how much noise, how loud, for
which instrument. The search throws recipes at random, keeps the dearest, and changes those a little, again
and again (random search and hill climbing). What a recipe costs is counted and not timed, so that the search
finds the same everywhere: the work that the tracker itself counts. Where callgrind is installed, the dearest
is played to the whole box as well and counted in instructions.
"""

from dataclasses import dataclass, replace

import numpy as np

from dsp import Instrument, PitchTracker, Samples
from tests.bench.common import BLOCK, RATE, Sizes, wall_range
from tests.bench.cost import counted_per_second
from tests.bench.report import Table

LASTS_S = 2.0
_THROWN, _CHANGED = 60, 60  # recipes thrown, and changed, at full size
KEPT = 4


@dataclass(frozen=True)
class Recipe:
    """One kind of sound."""

    instrument: Instrument
    pitch_hz: float  # of the lowest tone
    tones: int  # partials of each note
    notes: int  # that sound at once
    begins_per_s: float  # how often everything begins anew
    decay_s: float
    noise: float  # against the tones
    sways_cents: float
    level: float
    seed: int

    def sound(self, seconds: float = LASTS_S) -> Samples:
        rng = np.random.default_rng(self.seed)
        at = np.arange(round(seconds * RATE)) / RATE
        since = np.mod(at, 1.0 / self.begins_per_s)
        envelope = np.exp(-since / self.decay_s) * -np.expm1(-since / 0.003)
        made = self.noise * rng.standard_normal(at.size)
        sway = 1.0 + self.sways_cents / 1731.0 * np.sin(2.0 * np.pi * 5.0 * at)
        cycles = np.cumsum(sway) / RATE
        for note in range(self.notes):
            pitch = self.pitch_hz * 2.0 ** (rng.integers(0, 19) / 12.0 if note else 0.0)
            for k in range(1, self.tones + 1):
                if k * pitch < 0.45 * RATE:
                    turn = 2.0 * np.pi * k * pitch * cycles + rng.uniform(0.0, 6.28)
                    made += envelope * np.cos(turn) / k
        return np.asarray(self.level * made / np.max(np.abs(made)), np.float32)

    def said(self) -> str:
        """In words."""
        return (
            f"{self.notes} notes of {self.tones} partials from {self.pitch_hz:.0f} Hz,"
            f" anew {self.begins_per_s:.1f} times a second, dying in {self.decay_s:.2f} s,"
            f" noise {self.noise:.2f}, sway {self.sways_cents:.0f} cents, for a {self.instrument.value}"
        )


def drawn(rng: np.random.Generator) -> Recipe:
    instrument = tuple(Instrument)[int(rng.integers(4))]
    low, high = wall_range(instrument)
    return Recipe(
        instrument,
        pitch_hz=float(np.exp(rng.uniform(np.log(low), np.log(high)))),
        tones=int(rng.integers(1, 25)),
        notes=int(rng.integers(1, 6)),
        begins_per_s=float(np.exp(rng.uniform(np.log(0.3), np.log(12.0)))),
        decay_s=float(np.exp(rng.uniform(np.log(0.02), np.log(3.0)))),
        noise=float(10.0 ** rng.uniform(-3.0, 0.0)),
        sways_cents=float(rng.choice([0.0, 0.0, 10.0, 60.0])),
        level=float(10.0 ** rng.uniform(-1.5, 0.0)),
        seed=int(rng.integers(1 << 30)),
    )


def changed(recipe: Recipe, rng: np.random.Generator) -> Recipe:
    """One or two of its numbers taken from another recipe."""
    other = drawn(rng)
    fields = ("tones", "notes", "begins_per_s", "decay_s", "noise", "sways_cents", "level", "seed")
    picked = rng.choice(fields, int(rng.integers(1, 3)), replace=False)
    return replace(recipe, **{str(f): getattr(other, str(f)) for f in picked})


def spent(recipe: Recipe) -> float:
    """Work that the tracker counts itself (`dsp.work_budget`) for each second of the sound."""
    sound, tracker = recipe.sound(), PitchTracker(RATE, *wall_range(recipe.instrument))
    for first in range(0, sound.size, BLOCK):
        tracker.feed(sound[first : first + BLOCK])
    return tracker._budget.done / LASTS_S


def searched(sizes: Sizes) -> list[tuple[float, Recipe]]:
    """The dearest recipes, the dearest first, with what they cost."""
    rng = np.random.default_rng(61)
    found: list[tuple[float, Recipe]] = []
    for step in range(sizes.of(_THROWN) + sizes.of(_CHANGED)):
        throw = step < sizes.of(_THROWN) or not found
        recipe = drawn(rng) if throw else changed(found[step % len(found)][1], rng)
        found = sorted([*found, (spent(recipe), recipe)], key=lambda pair: -pair[0])[:KEPT]
    return found


def dearest(sizes: Sizes) -> list[Table]:
    sizes.progress("dearest: searching")
    rows = [
        (recipe.said(), cost, counted_per_second(recipe) if i == 0 and sizes.scale >= 0.2 else None)
        for i, (cost, recipe) in enumerate(searched(sizes))
    ]
    goal = "at most 400 million instructions a second for the whole box, whatever is heard"
    columns = ("sound", "counted work per s", "million instructions per s, whole box")
    return [Table("dearest", "The dearest sounds that a search found", goal, columns, tuple(rows))]
