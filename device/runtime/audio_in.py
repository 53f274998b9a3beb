"""Keeps the microphone open and turns its blocks into events for the lesson.

The tracker counts time in samples from the start of its stream; the lesson's time is the loop's. The last
sample of each block ties the two together: it counts as heard at the moment when the block is read. After
any gap in the sound (a lost microphone, sound that came faster than it could be worked on, our own
reference tone) the tracker starts anew, because a pitch cannot be measured across a gap.
`device.runtime.sound_watch` notices a microphone that only looks healthy.
"""

import math
from collections.abc import Callable

from device.errors import PartError
from device.events import Heard, NoteHeld, Plucked, Struck
from device.ports import CountsLost, Microphone, Tracker
from device.runtime.reconnect import ReconnectingPart
from device.runtime.sound_watch import SAME_LIMIT_S, RateWatch, SameWatch
from dsp import Hz, Reading, Samples, Seconds
from dsp.attacks import AttackWatch
from dsp.clipping import clips
from dsp.held_notes import HeldNoteWatch

QUIET_LIMIT_S = 0.6  # chosen: no block for so long means lost; the picture is due within 1 s
FIRST_BLOCK_LIMIT_S = 3.0  # a sound server may take over 1 s to its first block (measured: 1.1 s)
BACKLOG_LIMIT_S = 0.5  # chosen: a reading that is later than this is dropped rather than shown late


NewTracker = Callable[[int], Tracker]
"""Builds a tracker for a sample rate in Hz."""


class AudioIn:
    """Keeps the microphone open, the tracker fed, and counts what was thrown away."""

    def __init__(self, microphone: ReconnectingPart[Microphone], new_tracker: NewTracker) -> None:
        self.dropped_s = Seconds(0.0)  # sound thrown away because it came too late
        self.readings = 0
        self.clipped = False  # in what was heard last
        self.dropped = False  # sound was thrown away in the last tick because it came too late
        self._asked: Microphone | None = None  # whether it counts what it loses
        self._counts: CountsLost | None = None  # that one, if it does
        self._lost_blocks = 0  # overflows of the open microphone that were told
        self._microphone = microphone
        self._new_tracker = new_tracker
        self._tracker: Tracker | None = None
        self._fed = 0  # samples the tracker has had
        self._plucks_before = 0  # soundings counted by earlier trackers
        self._pluck = 0  # the last sounding told of
        self._last_block: Seconds | None = None
        self._limit = FIRST_BLOCK_LIMIT_S
        self._sounds = False
        self._rate: RateWatch | None = None
        self._distrusted = False  # it gave a wrong rate and has not yet shown a right one
        self._same: SameWatch | None = None  # None: no sample yet since it was opened
        self._stood_still = False  # it gave one value for too long and has not yet given another
        self._muted_until: Seconds | None = None
        self._last_event_at = Seconds(float("-inf"))
        self._attacks_from: Hz | None = None  # the lowest string's pitch; None: not wanted
        self._attacks: AttackWatch | None = None
        self._attacks_fed = 0  # samples it has had
        self._held_between: tuple[Hz, Hz] | None = None  # pitches; None: not wanted
        self._held: HeldNoteWatch | None = None
        self._held_fed = 0  # samples it has had
        self._held_before, self._held_number = 0, 0  # notes counted by earlier watches, and by all

    @property
    def silent(self) -> bool:
        """Whether there is no microphone, or none that gave a block since it was opened."""
        trusted = self._sounds and not self._distrusted and not self._stood_still
        return self._microphone.part is None or not trusted

    @property
    def overflows(self) -> int:
        """How often the open microphone had to drop sound because nobody fetched it."""
        part = self._microphone.part
        if part is not self._asked:  # asking a protocol costs as much as hearing a hop
            self._asked, self._counts = part, part if isinstance(part, CountsLost) else None
        return 0 if self._counts is None else self._counts.overflows

    def _overflowed(self) -> bool:
        """Whether the open microphone dropped sound since it was asked last."""
        before, self._lost_blocks = self._lost_blocks, self.overflows
        return self._lost_blocks > before

    def mute(self, until: Seconds) -> None:
        """Throw away what is heard up to `until`: the box itself is sounding."""
        self._muted_until = until
        self._start_anew()

    def retune(self, new_tracker: NewTracker) -> None:
        """Listen for another range from now on: the settings changed."""
        self._new_tracker = new_tracker
        self._start_anew()

    def want_attacks(self, lowest_hz: Hz | None) -> None:
        """Tell every attack too, as `Struck`, on strings from this pitch up; None: no longer."""
        if lowest_hz != self._attacks_from:
            self._attacks_from, self._attacks = lowest_hz, None

    def want_held_notes(self, between: tuple[Hz, Hz] | None) -> None:
        """Tell every note that stands too, as `NoteHeld`, between two pitches; None: no longer."""
        if between != self._held_between:
            self._held_between, self._held = between, None

    def hear(self, at: Seconds) -> tuple[Plucked | Heard | Struck | NoteHeld, ...]:
        """Everything heard up to now."""
        self.dropped = False
        microphone = self._microphone.seek(at)
        if microphone is None:
            return ()
        try:
            block = self._fetch(microphone, at)
        except PartError as why:
            self._lose(at, why)
            return ()
        self.clipped = clips(block)
        holed = self._overflowed()
        self.dropped = holed or len(block) > BACKLOG_LIMIT_S * microphone.sample_rate_hz
        if holed:  # somewhere in the block, or right before it
            self._start_anew()
            return ()
        muted = self._muted_until is not None and at < self._muted_until
        if len(block) == 0 or muted or self._distrusted:
            return ()
        self._muted_until = None
        block, rate = self._newest(block, microphone.sample_rate_hz), microphone.sample_rate_hz
        beside: tuple[Struck | NoteHeld, ...] = (
            *self._struck(block, rate, at),
            *self._stood(block, rate, at),
        )
        return (*beside, *self._events(block, rate, at))

    def close(self) -> None:
        """Let go of the microphone for good."""
        self._microphone.close()

    def _fetch(self, microphone: Microphone, at: Seconds) -> Samples:
        """The new sound; PartError when none came for too long, whatever the source says."""
        block = microphone.read()
        self._count(len(block), microphone.sample_rate_hz, at)
        if len(block) > 0:
            self._last_block, self._limit, self._sounds = at, QUIET_LIMIT_S, True
            self._watch_sameness(block, at)
        elif self._last_block is None:
            self._last_block = at
        elif at - self._last_block > self._limit:
            raise PartError(f"no sound at all for {self._limit:g} s")
        return block

    def _watch_sameness(self, block: Samples, at: Seconds) -> None:
        """PartError when every sample has been the same for too long."""
        before = self._same or SameWatch(float(block[0]), at)
        self._same = before.looked_at(block, at)
        self._stood_still = self._stood_still and self._same is before
        if at - self._same.since >= SAME_LIMIT_S:
            self._stood_still = True
            raise PartError(f"every sample has been {self._same.value:g} for {SAME_LIMIT_S:g} s")

    def _count(self, samples: int, rate_hz: int, at: Seconds) -> None:
        """Watch the rate from the first block on; PartError when it is not what it says."""
        if self._rate is None:
            self._rate = RateWatch(at) if samples > 0 else None
            return
        self._rate = self._rate.counted(samples, at, rate_hz)
        self._distrusted = self._rate.wrong or (self._distrusted and not self._rate.right)
        if self._rate.wrong:
            raise PartError(f"it says {rate_hz} samples a second and gives another number")

    def _lose(self, at: Seconds, why: PartError) -> None:
        self._microphone.lose(at, why)
        self._last_block, self._limit, self._sounds = None, FIRST_BLOCK_LIMIT_S, False
        self._rate = self._same = None
        self._start_anew()

    def _newest(self, block: Samples, rate: int) -> Samples:
        """The block, or nothing when it is so long that its readings would be late."""
        if len(block) <= BACKLOG_LIMIT_S * rate:
            return block
        self.dropped_s = Seconds(self.dropped_s + len(block) / rate)
        self._start_anew()
        return block[:0]

    def _start_anew(self) -> None:
        self._tracker, self._fed, self._plucks_before = None, 0, self._pluck
        self._attacks = self._held = None

    def _stood(self, block: Samples, rate: int, at: Seconds) -> list[NoteHeld]:
        if self._held_between is None:
            return []
        if self._held is None:
            self._held, self._held_fed = HeldNoteWatch(rate, *self._held_between), 0
            self._held_before = self._held_number
        self._held_fed += len(block)
        offset = at - self._held_fed / rate
        notes = self._held.feed(block)
        self._held_number = self._held_before + notes[-1].number if notes else self._held_number
        return [
            NoteHeld(
                Seconds(note.time_s + offset),
                Seconds(note.began_s + offset),
                note.frequency_hz,
                self._held_before + note.number,
            )
            for note in notes
        ]

    def _struck(self, block: Samples, rate: int, at: Seconds) -> list[Struck]:
        if self._attacks_from is None:
            return []
        if self._attacks is None:
            self._attacks, self._attacks_fed = AttackWatch(rate, self._attacks_from), 0
        self._attacks_fed += len(block)
        offset = at - self._attacks_fed / rate
        found = self._attacks.feed(block)
        return [Struck(Seconds(attack.time_s + offset), attack.level_dbfs) for attack in found]

    def _events(self, block: Samples, rate: int, at: Seconds) -> tuple[Plucked | Heard, ...]:
        if self._tracker is None:
            self._tracker = self._new_tracker(rate)
        self._fed += len(block)
        offset = at - self._fed / rate
        events: list[Plucked | Heard] = []
        for reading in self._tracker.feed(block):
            events += self._tell(reading, Seconds(reading.time_s + offset))
        return tuple(events)

    def _tell(self, reading: Reading, at: Seconds) -> list[Plucked | Heard]:
        """One reading as events, never before what was told before; none where a figure is not finite."""
        if not all(math.isfinite(figure) for figure in (reading.frequency_hz, reading.level_dbfs)):
            return []
        self.readings += 1
        self._last_event_at = at = Seconds(max(at, self._last_event_at))
        pluck = self._plucks_before + reading.pluck
        heard = heard_event(reading, at, pluck)
        if pluck == self._pluck:
            return [heard]
        self._pluck = pluck
        return [Plucked(at, pluck, reading.level_dbfs), heard]


def heard_event(reading: Reading, at: Seconds, pluck: int) -> Heard:
    """A reading as the coach takes it, at the loop's time and with the loop's count of soundings."""
    return Heard(
        at=at,
        pluck=pluck,
        frequency_hz=Hz(reading.frequency_hz),
        std_error_cents=reading.std_error_cents,
        octave_doubt=reading.octave_doubt,
        drift_cents_per_s=reading.drift_cents_per_s,
        level_dbfs=reading.level_dbfs,
        since_pluck_s=reading.since_pluck_s,
    )
