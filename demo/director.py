"""Lets a simulated player play their part while the real loop runs.

The loop shows each of its moments to `watch`. When the player has done what they were doing they look
at the panel and do the next thing: pluck (into the simulated room), turn (on the simulated
instrument), press, wait, or leave.
"""

from collections import Counter
from collections.abc import Callable, Mapping

from demo.mechanics.instrument import SimInstrument
from demo.parts import KeyButtons
from demo.players.actions import Action, CallTeacher, HandTurn, Leave, Pluck, PressNext, Wait
from demo.players.hand import apply_turn
from demo.players.picture import PicturedPart
from demo.players.player import Player
from demo.players.sight import seen
from demo.room import Room
from device.events import Button
from device.lesson.state import Phase
from device.runtime.loop_interface import Snapshot
from dsp import Hz, Seconds

AFTER_A_PRESS_S = Seconds(0.6)  # from one press to the next look
CHORD_MARGIN_S = 0.2  # both buttons are held so much longer than the box asks for
LOOKS_AT_THE_END = Seconds(3.0)  # how long the end picture is looked at
Tell = Callable[[Seconds, str], None]
"""Takes one thing that happened, in words."""


class Director:
    """One player at one instrument in front of one box."""

    def __init__(  # noqa: PLR0913 - what stands around a player, one thing a part
        self,
        player: Player,
        instrument: SimInstrument,
        room: Room,
        buttons: KeyButtons,
        tell: Tell,
        *,
        goals: Mapping[str, Hz],
        chord_s: Seconds,
    ) -> None:
        self.instrument = instrument
        self.plucks: Counter[str] = Counter()
        self.over_at: Seconds | None = None  # when the player has seen enough; None while playing
        self._player, self._room, self._buttons, self._tell = player, room, buttons, tell
        self._chord_s = Seconds(chord_s + CHORD_MARGIN_S)
        self._goals = goals
        self._due = 1.0  # s; the first look at the panel
        self._crept_to = Seconds(0.0)

    def watch(self, snapshot: Snapshot) -> None:
        """Act when the time has come; wait while somebody is at the settings."""
        if snapshot.at < self._due or self.over_at is not None or snapshot.scene.menu is not None:
            return
        self.instrument = self.instrument.later(Seconds(snapshot.at - self._crept_to))
        self._crept_to = snapshot.at
        if snapshot.scene.by_ear:
            self._due = snapshot.at + self._press_next(snapshot.at, "has listened and decided")
            return
        action = self._player.act(seen(snapshot.coach))
        self._due = snapshot.at + self._do(action, snapshot)

    def _press_next(self, at: Seconds, why: str) -> Seconds:
        self._tell(at, f"the player {why}, and presses NEXT")
        self._buttons.press(Button.NEXT)
        return AFTER_A_PRESS_S

    def _do(self, action: Action, snapshot: Snapshot) -> Seconds:
        """Carry out an action; how long it takes."""
        match action:
            case Pluck():
                return self._pluck(action, snapshot.at)
            case HandTurn():
                return self._turn(action, snapshot.at)
            case Wait(duration):
                return duration
            case PressNext():
                return self._press_next(snapshot.at, "wants to go on")
            case CallTeacher():
                self._tell(snapshot.at, "a grown-up comes to the pegs, and holds NEXT and PREVIOUS")
                self._buttons.press(Button.NEXT, Button.PREVIOUS, hold_s=self._chord_s)
                return Seconds(self._chord_s + AFTER_A_PRESS_S)
            case Leave():
                finished = snapshot.coach.phase is Phase.FINISHED
                self.over_at = Seconds(snapshot.at + (LOOKS_AT_THE_END if finished else 0.0))
                return LOOKS_AT_THE_END

    def _pluck(self, pluck: Pluck, at: Seconds) -> Seconds:
        string = pluck.string
        self.plucks[string] += 1
        pitch = None if pluck.pitchless else self.instrument.pitch(string)
        if pitch is None:
            self._tell(at, f"the player plucks {string}: no pitch sounds")
        else:
            self._tell(at, f"the player plucks {string}")
            self._room.pluck(at, pitch)
        if pluck.turning is not None:
            self._turn(pluck.turning, at)
        return pluck.listens

    def _turn(self, turn: HandTurn, at: Seconds) -> Seconds:
        thing = "fine tuner" if turn.part is PicturedPart.SCREW else "peg"
        far = "until it sounds right" if turn.by_ear else f"by {turn.degrees:.0f} degrees"
        self._tell(at, f"the player turns the {thing} of {turn.string} {turn.spin.value} {far}")
        before = self.instrument.broken
        outcome = apply_turn(self.instrument, turn, self._goals, self._player.rng)
        self.instrument = outcome.instrument
        if outcome.slipped:
            self._tell(at, f"the peg of {turn.string} slips back")
        for name in set(self.instrument.broken) - set(before):
            self._tell(at, f"the {name} string snaps")
        return turn.duration
