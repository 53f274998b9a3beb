"""How a pluck is heard in a simulated lesson: by the real tracker, or by its measured errors.

Either way one sounding in twenty is heard an octave or a fifth wrong, all through, and half of
those carry the octave doubt of a right reading: worse than any tracker may be, so that the box is
proved against it. A pluck may be a thud without pitch, and another child's string may sound into it.
"""

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from demo.lessons.resampled import resampled
from demo.players.actions import Pluck
from demo.room import LEAD_S, RATE_HZ, Room
from device.config.settings import Settings
from device.events import Heard, Plucked
from device.runtime.audio_in import heard_event
from dsp import Cents, Hz, PitchTracker, Samples, Seconds, cents, shifted
from dsp.synthesis.plucks import pluck as synthetic
from dsp.synthesis.realistic import realistic_manner

WRONG_SHARE = 0.05
WRONG_RATIOS = (2.0, 0.5, 1.5, 2.0 / 3.0)
SEEN_THROUGH = 0.8  # octave doubt of a wrong reading that the tracker would see through
PLUCK_DBFS = -20.0
HEARD_S = Seconds(1.9)  # of a pluck: a player listens no longer, and the next pluck damps the rest
OTHERS_OFF = Cents(40.0)  # how far another child's string is off, at most; invented
SAME_STRING = Cents(150.0)  # nearer than this to ours, it may be the same open string; chosen
OTHERS_FROM_S = (0.05, 0.6)  # when it begins after ours; invented
OTHERS_DBFS = (-32.0, -17.0)  # how loud it is at our microphone; invented
TAKES_OVER = 0.5  # share of those soundings that the tracker follows instead of ours; else it wavers


@dataclass(frozen=True, slots=True)
class Sound:
    """What a pluck sends into the room."""

    at: Seconds
    pluck: Pluck
    pitches: tuple[Hz | None, ...]  # from the pluck to the end of the listening, at even steps

    @property
    def sounds(self) -> bool:
        """Whether there is any pitch to be heard."""
        return not self.pluck.pitchless and all(hz is not None for hz in self.pitches)

    def pitch(self, since: Seconds) -> Hz:
        """The pitch at a time after the pluck."""
        known = [hz for hz in self.pitches if hz is not None]
        if len(known) == 1:
            return known[0]
        place = min(max(since / self.pluck.listens, 0.0), 1.0) * (len(known) - 1)
        low = min(int(place), len(known) - 2)
        return Hz(known[low] + (place - low) * (known[low + 1] - known[low]))

    def drift(self, since: Seconds) -> float:
        """How fast it moves, in cents a second."""
        if len(self.pitches) == 1:
            return 0.0
        return cents(self.pitch(since), self.pitch(Seconds(since - 0.1))) / 0.1


class Ears(Protocol):
    """Something that hears plucks."""

    @property
    def misled(self) -> int:
        """Soundings so far that were heard wrong and told as if right."""
        ...

    def hear(self, sound: Sound) -> Sequence[Plucked | Heard]:
        """What the wall is told of one pluck, in order of time; nothing of a string that is not there."""
        ...


class ReadingSource(Protocol):
    """The undisturbed readings of one pluck."""

    def of(self, sound: Sound, number: int) -> Sequence[Heard]:
        """Readings of sounding `number`."""
        ...


class TrackerReadings:
    """The real signal path: a pluck in a noisy room, through the tracker."""

    def __init__(self, settings: Settings, seed: int, sounds: "StringSounds | None" = None) -> None:
        self._room = Room(RATE_HZ, seed, rings_s=HEARD_S)
        self._tracker = PitchTracker(RATE_HZ, *settings.tracking_range)
        self._samples = 0  # fed so far
        self._sounds = sounds or SyntheticSounds(seed)

    def of(self, sound: Sound, number: int) -> Sequence[Heard]:
        """Readings, at the lesson's time and with the lesson's count."""
        begins = self._samples / RATE_HZ + LEAD_S
        self._room.play(Seconds(begins), self._sounds.samples(sound))
        until = self._samples + round((LEAD_S + sound.pluck.listens) * RATE_HZ)
        block = self._room.sound(self._samples, until)
        self._samples = until
        readings = self._tracker.feed(block)
        fresh = [r for r in readings if r.time_s - r.since_pluck_s > begins - LEAD_S / 2.0]
        return [heard_event(r, Seconds(sound.at + r.time_s - begins), number) for r in fresh]


class StringSounds(Protocol):
    """Where the sound of a string comes from."""

    def samples(self, sound: Sound) -> Samples:
        """The pluck as it is heard at `RATE_HZ`."""
        ...


class SyntheticSounds:
    """Plucks as varied as recorded ones."""

    def __init__(self, seed: int) -> None:
        self._seed, self._count = seed * 1000, 0

    def samples(self, sound: Sound) -> Samples:
        """A pluck at its first pitch, bent to its course where a hand turns."""
        self._count += 1
        seed = self._seed + self._count
        first = sound.pitch(Seconds(0.0))
        made = synthetic(first, HEARD_S, RATE_HZ, manner=realistic_manner(seed), seed=seed)
        return bent(made, sound, first)


def bent(made: Samples, sound: Sound, pitch: Hz) -> Samples:
    """A sound of steady `pitch` played faster or slower, so that it follows the course of `sound`."""
    if len(sound.pitches) == 1 and sound.pitch(Seconds(0.0)) == pitch:
        return made
    times = np.arange(round(HEARD_S * RATE_HZ)) / RATE_HZ
    speed = np.array([sound.pitch(Seconds(float(t))) / pitch for t in times])
    return resampled(made, np.cumsum(speed) - speed[0])


class RoomEars:
    """Readings as a room full of mishaps leaves them."""

    def __init__(self, readings: ReadingSource, settings: Settings, rng: random.Random) -> None:
        self._readings, self._rng = readings, rng
        self._others = tuple(settings.targets.values())
        self._number = 0  # soundings so far
        self._misled = 0

    @property
    def misled(self) -> int:
        """Soundings so far that were heard wrong and told as if right."""
        return self._misled

    def hear(self, sound: Sound) -> Sequence[Plucked | Heard]:
        """The pluck, its readings, and what sounds into them."""
        if not sound.sounds:
            return self._thud(sound)
        self._number += 1
        number = self._number
        readings = self._wrong_at_times(self._readings.of(sound, number))
        if not readings:
            return ()
        events: list[Plucked | Heard] = [Plucked(sound.at, number, readings[0].level_dbfs), *readings]
        return self._disturbed(sound, events) if sound.pluck.other_child else events

    def _thud(self, sound: Sound) -> Sequence[Plucked | Heard]:
        """A finger on the string, or a slack one: something, but no pitch. A missing string: nothing."""
        if not sound.pluck.pitchless and self._rng.random() < 0.5:
            return ()
        self._number += 1
        return (Plucked(sound.at, self._number, PLUCK_DBFS),)

    def _wrong_at_times(self, readings: Sequence[Heard]) -> Sequence[Heard]:
        """One sounding in twenty an octave or a fifth wrong."""
        if self._rng.random() >= WRONG_SHARE:
            return readings
        ratio, seen_through = self._rng.choice(WRONG_RATIOS), self._rng.random() < 0.5
        self._misled += not seen_through
        doubt = SEEN_THROUGH if seen_through else readings[0].octave_doubt if readings else 0.0
        return [replace(r, frequency_hz=Hz(r.frequency_hz * ratio), octave_doubt=doubt) for r in readings]

    def _disturbed(self, sound: Sound, events: Sequence[Plucked | Heard]) -> Sequence[Plucked | Heard]:
        """Another child's string sounds into it: the tracker goes over to it, or wavers between the two.

        Where it is the same open string as ours, nobody could tell whose was heard: that misleads.
        """
        other = shifted(self._rng.choice(self._others), Cents(self._rng.uniform(-OTHERS_OFF, OTHERS_OFF)))
        self._misled += abs(cents(other, sound.pitch(Seconds(0.0)))) <= SAME_STRING
        begins = Seconds(sound.at + self._rng.uniform(*OTHERS_FROM_S))
        level = self._rng.uniform(*OTHERS_DBFS)
        if self._rng.random() < TAKES_OVER:
            self._number += 1
            return tuple(_taken_over(events, other, begins, level, self._number))
        return tuple(self._wavering(events, other, begins))

    def _wavering(
        self, events: Sequence[Plucked | Heard], other: Hz, begins: Seconds
    ) -> Iterator[Plucked | Heard]:
        for event in events:
            if isinstance(event, Plucked) or event.at < begins or self._rng.random() < 0.5:
                yield event
            else:
                yield replace(event, frequency_hz=other)


def _taken_over(
    events: Sequence[Plucked | Heard], other: Hz, begins: Seconds, level: float, number: int
) -> Iterator[Plucked | Heard]:
    """Ours until the other begins; from then on the other's, under its own number."""
    yield from (event for event in events if event.at < begins)
    yield Plucked(begins, number, level)
    late = [event for event in events if isinstance(event, Heard)]
    last = max(event.at for event in late)
    for event in late:
        at = Seconds(begins + event.since_pluck_s)
        if at <= last:
            yield replace(event, at=at, pluck=number, frequency_hz=other, level_dbfs=level)
