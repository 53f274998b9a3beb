"""Everything the box knows at one moment, and what a tick makes of it: pure, with no part in sight.

levels --> presses --> hands (settings, tone) --+
what was heard --> sample clock --> gate -------+--> lesson events --> coach --> scene
"""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from device import hands as doing
from device.coach.state import Coach
from device.events import Button, Heard, LessonEvent, Plucked, Tick
from device.faults import Faults
from device.gate import Gate, let_through
from device.hands import Hands
from device.menu import Rules
from device.presses import Presses, pressed
from device.scene import Fault, Scene
from device.settings import Settings
from device.thought import Thought
from dsp import Seconds


@dataclass(frozen=True, slots=True)
class Mind:
    """The state of the whole, beside the parts."""

    hands: Hands
    coach: Coach
    presses: Presses
    gate: Gate
    faults: Faults

    @property
    def settings(self) -> Settings:
        """What holds now."""
        return self.hands.settings

    def told(self, fault: Fault, at: Seconds) -> "Mind":
        """Something is wrong and is shown for a while; a tone without a loudspeaker ends."""
        hands = replace(self.hands, sound=None) if fault is Fault.NO_SPEAKER else self.hands
        return replace(self, hands=hands, faults=self.faults.told(fault, at))

    def scene(self, rules: Rules, at: Seconds) -> Scene:
        """What deserves the panel."""
        fault, unfollowed = self.faults.shown(at), self.gate.says_so(at)
        return doing.shown(self.hands, self.coach, rules, at, fault=fault, unfollowed=unfollowed)


@dataclass(frozen=True, slots=True)
class Senses:
    """What the parts gave in one tick."""

    at: Seconds
    levels: Collection[Button] | None  # which buttons are down; None while there are no buttons
    heard: Iterable[Plucked | Heard] = ()


def awake(settings: Settings, thought: Thought, at: Seconds) -> Mind:
    """The box as it is switched on."""
    return Mind(Hands(settings, at), thought.start(settings, at), Presses(), Gate(), Faults())


def ticked(
    mind: Mind, senses: Senses, thought: Thought, rules: Rules
) -> tuple[Mind, tuple[LessonEvent, ...]]:
    """The mind a tick later, and what the coach was told."""
    mind = replace(mind, hands=doing.passed(mind.hands, senses.at))
    mind, asked = _pressed(mind, senses, rules)
    corrected = (_corrected(event, mind.settings) for event in senses.heard)
    gate, ours = let_through(mind.gate, (*asked, *corrected), mind.settings.gate_db)
    mind = replace(mind, gate=gate, hands=doing.noticed(mind.hands, ours))
    events = (*ours, Tick(senses.at))
    coach, lesson = mind.coach, doing.for_the_coach(mind.hands)
    for event in events:
        coach = thought.advance(coach, event, lesson)
    return replace(mind, coach=coach), events


def _pressed(mind: Mind, senses: Senses, rules: Rules) -> tuple[Mind, tuple[LessonEvent, ...]]:
    """Every press in turn, each on what the one before left."""
    if senses.levels is None:
        return replace(mind, presses=Presses()), ()
    presses, said = pressed(mind.presses, senses.levels, senses.at, mind.settings.press_times)
    hands, events = mind.hands, list[LessonEvent]()
    for press in said:
        hands, meant = doing.pressed(hands, press, mind.coach, rules)
        events += meant
    return replace(mind, presses=presses, hands=hands), tuple(events)


def _corrected(event: Plucked | Heard, settings: Settings) -> Plucked | Heard:
    """A reading as it sounded, whatever the sound card's clock makes of it."""
    if isinstance(event, Plucked):
        return event
    return replace(event, frequency_hz=settings.corrected(event.frequency_hz))
