"""A simulated player: reads pictures, and acts in character.

Once a grown-up has come, who says so with the buttons, it is they who act: in the same way, but they pluck
the string that is asked for and have the hand on its peg.
"""

import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from demo.mechanics.geometry import Seat, Shaft, Spin
from demo.players.actions import Action, CallTeacher, HandTurn, Leave, Pluck, PressNext, Wait
from demo.players.characters import Character, Hand
from demo.players.picture import Asks, Picture, PicturedPart, PicturedTurn
from dsp import Seconds

WAITS = Seconds(2.0)
GLANCES = Seconds(0.4)
SAME_ANSWERS_BORNE = 8  # times the same answer without a turn is borne before the button is pressed
LEAVES_AFTER = 12  # and before they leave
SEES_THE_MISTAKE = 0.8  # probability that a picture of the mistake clears it up
CARRIES_ON = 20.0  # degrees of a peg, of somebody who does not heed the panel


@dataclass(frozen=True, slots=True)
class Pegbox:
    """What the hands find: the shafts by string, low to high, as seen from the player's seat."""

    shafts: Mapping[str, Shaft]
    seat: Seat

    def spin(self, turn: PicturedTurn, string: str) -> Spin:
        """How a picture's arrow moves the part of `string`, as seen by whoever faces its head.

        A straight arrow moves the upper edge of any peg away or towards. Where there is no arrow (machine
        heads) players know which way their own tighten.
        """
        if turn.part is PicturedPart.PEG and turn.away is not None:
            away = self.shafts[string].away(self.seat)
            return away if turn.away else away.opposite
        if turn.spin is not None:
            return turn.spin
        if turn.part is PicturedPart.SCREW:
            return Spin.CLOCKWISE if turn.tightens else Spin.COUNTER_CLOCKWISE
        return self.winding(string) if turn.tightens else self.winding(string).opposite

    def winding(self, string: str) -> Spin:
        """The turn that winds a string up."""
        shaft = self.shafts[string]
        return next(spin for spin in Spin if shaft.winding(spin) > 0)


@dataclass(slots=True)
class Player:
    """One player in one lesson, with what they have in mind."""

    character: Character
    pegbox: Pegbox
    rng: random.Random
    asked: str = ""
    mixed: bool = False  # takes a neighbour for the string asked for
    stray: bool = False  # the hand is on another string's peg
    turned: int = 0  # turns made since the last pluck
    waited: int = 0  # glances in a row at a panel that asks for nothing
    fruitless: int = 0  # answers in a row without a turn
    answer: object = None  # the last one without a turn
    last: HandTurn | None = None
    called: set[str] = field(default_factory=set)  # the strings a grown-up came for
    smaller: float = 1.0
    plucked: str = ""  # last
    own: list[str] = field(default_factory=list)  # strings still to be plucked in one's own order

    @property
    def names(self) -> list[str]:
        """The open strings, low to high."""
        return list(self.pegbox.shafts)

    def act(self, picture: Picture) -> Action:
        """What this player does, seeing the panel like this."""
        self._look(picture)
        if picture.asks is Asks.END:
            return Leave()
        if self.turned and (self.turned >= self.character.repeats or picture.turn is None):
            return self._pluck(self._heard_next(picture), picture)
        if picture.asks is Asks.NOTHING:
            return self._idle(picture)
        if picture.asks in {Asks.STOP, Asks.GROWN_UP, Asks.WAIT} and self._happens(self.character.ignores):
            return self._turn(self._carry_on(picture))
        if picture.turn is not None:
            return self._obey(picture, picture.turn)
        return self._without_turn(picture)

    def _look(self, picture: Picture) -> None:
        character = self.character
        if picture.string != self.asked:
            self.asked, self.last, self.smaller, self.fruitless = picture.string, None, 1.0, 0
            self.mixed = self._errs(character.mixes_up)
            self.stray = self._errs(character.strays)
        if picture.corrects and self._happens(SEES_THE_MISTAKE):
            self.mixed = self.stray = False

    def _idle(self, picture: Picture) -> Action:
        """Right: the box moves on by itself. Listening: give it a moment, then pluck again."""
        self.waited += 1
        if self.waited <= SAME_ANSWERS_BORNE and (self.character.reads or not picture.listening):
            return Wait(GLANCES)
        self.waited = 0
        return self._pluck(picture.string, picture) if picture.listening else PressNext()

    def _obey(self, picture: Picture, turn: PicturedTurn) -> Action:
        if self._happens(self.character.dawdles):
            return self._pluck(picture.string, picture)
        self.fruitless = self.waited = 0
        return self._turn(self.asked_turn(turn))

    def _without_turn(self, picture: Picture) -> Action:
        asks = picture.asks
        wanted = asks is Asks.GROWN_UP or picture.helps
        if wanted and self.character.grown_up_comes and picture.string not in self.called:
            self.called.add(picture.string)
            self.mixed = self.stray = False
            return CallTeacher()
        self.fruitless = self.fruitless + 1 if picture.same == self.answer else 0
        self.answer = picture.same
        if self.fruitless > SAME_ANSWERS_BORNE and not self.character.patient:
            return Leave() if self.fruitless > LEAVES_AFTER else PressNext()
        if asks is Asks.PLUCK or (asks is Asks.STOP and self.fruitless % 2 == 1):
            return self._pluck(picture.pluck or picture.string, picture)
        return Wait(WAITS)

    def _heard_next(self, picture: Picture) -> str:
        """What is plucked after a turn: what was turned, in the player's belief."""
        return picture.turn.string if picture.turn is not None else picture.string

    def _pluck(self, string: str, picture: Picture) -> Action:
        self.turned = self.waited = 0
        character = self.character
        if character.own_order and picture.corrects is False and picture.turn is None:
            string = self._own_string()
        self.plucked = string = self._string_plucked(string, picture)
        return Pluck(
            string,
            character.listens,
            self._happens(character.pitchless),
            self._happens(character.other_child),
        )

    def _string_plucked(self, string: str, picture: Picture) -> str:
        """The string that is plucked for the one that should be."""
        character = self.character
        if picture.turn is None and self._errs(character.out_of_order):
            return self.rng.choice(self.names)
        if self.plucked and self._errs(character.same_again):
            return self.plucked
        wrong = self.mixed or self._errs(character.wrong_string)
        return self._neighbour(string) if wrong else string

    def _own_string(self) -> str:
        self.own = self.own or self.names
        return self.own.pop()

    def asked_turn(self, turn: PicturedTurn) -> HandTurn:
        """The turn a picture asks for, by this hand, on what it is on."""
        if self.character.each_turn:
            self.stray = self._errs(self.character.strays)
        string = self._hand_on(turn.string)
        spin = self.pegbox.spin(turn, string)
        return HandTurn(string, turn.part, spin, turn.degrees, turn.push_in)

    def _turn(self, turn: HandTurn) -> Action:
        character = self.character
        if self.last is not None and self.last.spin is not turn.spin and character.learns:
            self.smaller = max(0.6 * self.smaller, 0.5 / character.least)
        self.last, self.turned = turn, self.turned + 1
        times = character.least * (character.most / character.least) ** self.rng.random()
        spin = turn.spin.opposite if self._happens(character.wrong_way) else turn.spin
        done = replace(
            turn,
            degrees=turn.degrees * times * min(self.smaller, 1.0),
            spin=spin,
            beyond=character.beyond,
            by_ear=character.by_ear,
            duration=character.turns,
        )
        if not character.turns_while_plucking or turn.part is PicturedPart.PEG:
            return done
        self.turned = 0
        return Pluck(self.asked, Seconds(character.listens + 0.5), turning=done)

    def _hand_on(self, string: str) -> str:
        if self.mixed or (self.stray and self.character.hand is Hand.NEIGHBOUR):
            return self._neighbour(string)
        if self.stray:
            return self.rng.choice([name for name in self.names if name != string])
        return string

    def _carry_on(self, picture: Picture) -> HandTurn:
        """The last turn again, and further; or the peg of the string asked for, by a guess."""
        if self.last is not None:
            return replace(self.last, degrees=max(self.last.degrees, CARRIES_ON))
        return HandTurn(picture.string, PicturedPart.PEG, self.rng.choice(list(Spin)), CARRIES_ON)

    def _neighbour(self, string: str) -> str:
        """The next string over: the lower one where there is one."""
        i = self.names.index(string)
        return self.names[i - 1] if i > 0 else self.names[1]

    def _errs(self, probability: float) -> bool:
        """Whether a wrong string is taken, which no grown-up takes."""
        return self._happens(probability) and not self.called

    def _happens(self, probability: float) -> bool:
        return probability > 0.0 and self.rng.random() < probability
