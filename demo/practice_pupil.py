"""A simulated pupil whose instrument is in tune goes on to a practice through the box's buttons.

They pluck each string the box asks for, hold NEXT when all is right, hold PREVIOUS until their practice is
shown, and then read notes or pluck bars until they have had enough.
"""

import random
from dataclasses import dataclass

from demo.director import Tell
from demo.parts import KeyButtons
from demo.practice_players import PracticePlayer, note_played, strokes_played
from demo.room import Room
from device.config.settings import Settings
from device.events import Button
from device.lesson.advice import Say
from device.lesson.state import Phase
from device.practice.count.session import CountPhase, CountState
from device.practice.read.session import ReadPhase, ReadState
from device.practice.running import Running
from device.runtime.loop_interface import Snapshot
from dsp import Seconds

LOOKS_S = 1.6  # from a pluck to the next look at the panel
HELD_MARGIN_S = 0.3
WAITS_S = 0.5
LOOKS_AT_THE_END_S = 3.0
BARS_PLAYED = 4  # then they have had enough
READY_S = 1.0  # they look at a bar before they begin
LONGEST_S = 90.0


@dataclass(slots=True)
class PracticePupil:
    """One pupil, one practice; the loop shows each of its moments to `watch`."""

    practice: str
    player: PracticePlayer
    room: Room
    buttons: KeyButtons
    settings: Settings
    tell: Tell
    rng: random.Random
    over_at: Seconds | None = None
    due: float = 1.0
    bars: int = 0
    counted_in: Seconds | None = None  # the bar whose strokes are already planned

    def over(self, snapshot: Snapshot) -> bool:
        """Whether they have seen enough, or it takes too long."""
        return snapshot.at > LONGEST_S or (self.over_at is not None and snapshot.at >= self.over_at)

    def watch(self, snapshot: Snapshot) -> None:
        """Act when the time has come."""
        if snapshot.at < self.due or self.over_at is not None or snapshot.scene.menu is not None:
            return
        running = snapshot.scene.practice
        if running is None:
            self.due = snapshot.at + self._tunes(snapshot)
        elif running.practice.name != self.practice:
            self.due = snapshot.at + self._holds(Button.PREVIOUS, snapshot.at, "wants the other practice")
        else:
            self.due = snapshot.at + self._practises(running, snapshot.at)

    def _tunes(self, snapshot: Snapshot) -> float:
        """The strings are in tune: pluck each one that is asked for, then hold NEXT."""
        if snapshot.coach.advice.say is Say.ALL_RIGHT:
            return self._holds(Button.NEXT, snapshot.at, "has every string right")
        if snapshot.coach.phase is Phase.RIGHT:
            return WAITS_S
        string = snapshot.coach.string
        self.tell(snapshot.at, f"the player plucks {string}")
        self.room.pluck(snapshot.at, self.settings.targets[string])
        return LOOKS_S

    def _holds(self, button: Button, at: Seconds, why: str) -> float:
        self.tell(at, f"the player {why}, and holds {button.value.upper()}")
        hold_s = Seconds(self.settings.hold_s + HELD_MARGIN_S)
        self.buttons.press(button, hold_s=hold_s)
        return hold_s + WAITS_S

    def _practises(self, running: Running, at: Seconds) -> float:
        if isinstance(running.state, ReadState):
            return self._reads(running.state, at)
        if isinstance(running.state, CountState):
            return self._counts(running.state, at)
        return WAITS_S

    def _reads(self, state: ReadState, at: Seconds) -> float:
        if state.phase is ReadPhase.SUMMARY:
            self._leaves(at)
            return LOOKS_AT_THE_END_S
        if state.phase is ReadPhase.HIDDEN:
            self.tell(at, "the player has decided, and presses NEXT")
            self.buttons.press(Button.NEXT)
            return WAITS_S
        if state.phase is ReadPhase.TOLD and state.answer is not None and state.answer.verdict.good:
            return WAITS_S
        hz = note_played(self.player, state, self.settings.reference_hz, self.rng)
        self.tell(at, f"{state.asked.pitch.name} is on the staff: the player sounds {hz:.0f} Hz")
        self.room.pluck(at, hz)
        return LOOKS_S

    def _counts(self, state: CountState, at: Seconds) -> float:
        if state.phase is CountPhase.READY:
            self.tell(at, "the player plucks, to begin")
            self.room.pluck(at, next(iter(self.settings.targets.values())))
            return LOOKS_S
        if state.phase is CountPhase.HIDDEN:
            self.buttons.press(Button.NEXT)
            return WAITS_S
        if state.phase is CountPhase.TOLD and self.bars >= BARS_PLAYED:
            self._leaves(at)
            return LOOKS_AT_THE_END_S
        if state.phase is CountPhase.COUNTING_IN and state.since != self.counted_in:
            self._plays(state, at)
        return 0.05

    def _plays(self, state: CountState, at: Seconds) -> None:
        """Plan the strokes of the bar that is counted in."""
        self.counted_in, self.bars = state.since, self.bars + 1
        metre = state.bar.metre
        self.tell(
            at, f"a bar of {metre.upper}/{metre.lower} at {state.tempo_bpm}: {len(state.wanted_s)} notes"
        )
        string = self.rng.choice(tuple(self.settings.targets.values()))
        for stroke in strokes_played(self.player, state, self.rng):
            self.room.pluck(Seconds(state.since + state.bar_s + stroke), string)

    def _leaves(self, at: Seconds) -> None:
        self.over_at = Seconds(at + LOOKS_AT_THE_END_S)
