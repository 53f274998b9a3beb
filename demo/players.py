"""Simulated players: they read what the panel says, and act with a hand.

A player sees the string asked for, the phase and the advice, turns by the length of the picture's
arrow, and makes the mistakes of their character. They never see a pitch. The probabilities below are
invented: often enough that every lesson meets the mistake, seldom enough that it is a mistake.
"""

import random
from dataclasses import dataclass, field, replace

from demo.actions import DEGREES, Action, CallTeacher, Leave, Pluck, PressNext, Turned, Wait, asked_turn
from demo.geometry import Spin
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.state import Coach, Phase
from dsp import Seconds

LISTENS = Seconds(1.2)  # from the pluck to the look at the panel
TURNS = Seconds(1.0)  # one turn of a hand
WAITS = Seconds(2.0)
GLANCES = Seconds(0.4)
MOST_PLUCKS = 250  # of one string, then the button for the next
PATIENCE = 4  # half the times the same answer is borne before the button; three halves, then they leave


@dataclass(frozen=True, slots=True)
class Character:
    """How somebody acts on what the panel says; each number is a probability but `gain`."""

    name: str
    gain: float = 1.0  # turns this many times as far as told
    dawdles: float = 0.0  # plucks without having turned
    wrong_way: float = 0.0  # turns the other way round
    wrong_string: float = 0.0  # plucks the neighbour
    wrong_peg: float = 0.0  # takes the neighbour's peg or screw, and stays with it
    mixes_up: float = 0.0  # takes the neighbour for the string asked for: plucks it and turns it
    ignores: float = 0.0  # goes on tightening where the panel says to stop


CHARACTERS = {
    c.name: c
    for c in (
        Character("careful"),
        Character("hasty", gain=2.0),
        Character("hesitant", dawdles=0.5),
        Character("wrong-way", wrong_way=0.2),
        Character("wrong-string", wrong_string=0.25),
        Character("wrong-peg", wrong_peg=0.3),
        Character("wrong-peg-and-string", mixes_up=0.3),
        Character("ignores-warnings", ignores=0.7),
    )
}
SEES_THE_MISTAKE = 0.8  # probability that a picture of the mistake clears it up
CORRECTIONS = {Say.OTHER_STRING, Say.PLUCK_OTHERS, Say.LOOSEN_BACK, Say.PLUCK_ALL}


@dataclass(slots=True)
class Player:
    """One player in one lesson, with what they have in mind."""

    character: Character
    names: tuple[str, ...]  # the open strings, low to high
    rng: random.Random
    asked: str = ""
    mixed: bool = False  # takes a neighbour for the string asked for
    wrong_hand: bool = False  # the hand is on a neighbour's peg
    turned: bool = False  # a turn was made since the last pluck
    plucks: int = 0  # of the string asked for
    fruitless: int = 0  # answers in a row without a turn
    answer: tuple[Say, str | None] = (Say.PLUCK, None)  # the last one without a turn
    last: Turned | None = None
    teacher: bool = False  # somebody grown-up comes when the panel asks for one
    called: set[str] = field(default_factory=set)  # the strings they came for
    smaller: float = 1.0  # the hand turns less after each change of direction

    def act(self, shown: Coach) -> Action:
        """What this player does, seeing the panel like this."""
        self._look(shown)
        if shown.phase is Phase.FINISHED:
            return Leave()
        if self.plucks >= MOST_PLUCKS:
            self.plucks = 0
            return PressNext()
        return self._pluck(shown.string) if self.turned else self._answer(shown)

    def _answer(self, shown: Coach) -> Action:
        """The panel was looked at, and no turn is waiting to be heard."""
        if shown.phase in {Phase.RIGHT, Phase.LISTENING}:
            return self._idle(shown)
        if self._ignoring(shown.advice):
            return self._turn(self._carry_on(shown))
        if shown.advice.turn is not TuningPart.NONE and shown.advice.warning is None:
            return self._obey(shown)
        return self._without_turn(shown)

    def _look(self, shown: Coach) -> None:
        if shown.string != self.asked:
            self.asked, self.last, self.smaller = shown.string, None, 1.0
            self.plucks = self.fruitless = 0
            self.mixed = self._happens(self.character.mixes_up)
            self.wrong_hand = self._happens(self.character.wrong_peg)
        if shown.advice.say in CORRECTIONS and self._happens(SEES_THE_MISTAKE):
            self.mixed = self.wrong_hand = False

    def _idle(self, shown: Coach) -> Action:
        """Right: the box moves on by itself. Listening: give it a moment, then pluck again."""
        self.fruitless += 1
        if self.fruitless <= 2 * PATIENCE:
            return Wait(GLANCES)
        self.fruitless = 0
        return PressNext() if shown.phase is Phase.RIGHT else self._pluck(shown.string)

    def _obey(self, shown: Coach) -> Action:
        if self._happens(self.character.dawdles):
            return self._pluck(shown.string)
        self.fruitless = 0
        return self._turn(self._asked_turn(shown.advice))

    def _without_turn(self, shown: Coach) -> Action:
        if shown.advice.say is Say.GROWN_UP and self.teacher and shown.string not in self.called:
            self.called.add(shown.string)
            return CallTeacher()
        same = (shown.advice.say, shown.advice.string) == self.answer
        self.answer = (shown.advice.say, shown.advice.string)
        self.fruitless = self.fruitless + 1 if same and shown.advice.say is not Say.PLUCK else 0
        if self.fruitless > 2 * PATIENCE:
            return Leave() if self.fruitless > 3 * PATIENCE else PressNext()
        if shown.advice.say is Say.GROWN_UP or (shown.advice.say is Say.WAIT and self.fruitless % 2 == 0):
            return Wait(WAITS)
        return self._pluck(shown.advice.string or shown.string)

    def _pluck(self, string: str) -> Action:
        self.turned = False
        self.plucks += 1
        if self.mixed or self._happens(self.character.wrong_string):
            return Pluck(self._neighbour(string))
        return Pluck(string)

    def _turn(self, turn: Turned) -> Action:
        if self.last is not None and self.last.spin is not turn.spin:
            self.smaller = max(0.6 * self.smaller, 0.25)
        self.last, self.turned = turn, True
        wobble = self.rng.uniform(0.75, 1.25)
        degrees = turn.degrees * self.character.gain * self.smaller * wobble
        spin = turn.spin.opposite if self._happens(self.character.wrong_way) else turn.spin
        return replace(turn, degrees=degrees, spin=spin)

    def hand_on(self, advice: Advice) -> str:
        """Whose peg or screw is in the hand when this advice is shown."""
        string = advice.string or self.asked
        return self._neighbour(string) if self.mixed or self.wrong_hand else string

    def _asked_turn(self, advice: Advice) -> Turned:
        return asked_turn(advice, self.hand_on(advice)) or Turned(
            self.asked, advice.turn, Spin.CLOCKWISE, 0.0, advice.push_in
        )

    def _ignoring(self, advice: Advice) -> bool:
        stopped = advice.warning is not None or (
            advice.turn is TuningPart.NONE and advice.say not in {Say.PLUCK, Say.PLUCK_AGAIN, Say.RIGHT}
        )
        return stopped and self._happens(self.character.ignores)

    def _carry_on(self, shown: Coach) -> Turned:
        """The last turn again, and further; or the peg of the string asked for, by a guess."""
        if self.last is not None:
            return replace(self.last, degrees=max(self.last.degrees, DEGREES[TuningPart.PEG, Amount.MORE]))
        spin = self.rng.choice((Spin.CLOCKWISE, Spin.COUNTER_CLOCKWISE))
        return Turned(shown.string, TuningPart.PEG, spin, DEGREES[TuningPart.PEG, Amount.MORE], push_in=True)

    def _neighbour(self, string: str) -> str:
        """The next string over: the lower one where there is one."""
        i = self.names.index(string)
        return self.names[i - 1] if i > 0 else self.names[1]

    def _happens(self, probability: float) -> bool:
        return probability > 0.0 and self.rng.random() < probability
