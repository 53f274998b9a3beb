"""Who stands at the wall: how somebody acts on what the panel says, and the mistakes they make.

All probabilities are invented: often enough that every lesson meets the mistake, seldom enough that it
is a mistake; where a character *always* errs, that is what it is named for.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from demo.players.actions import LISTENS, TURNS
from dsp import Cents, Seconds


class Hand(Enum):
    """Whose peg or screw a stray hand is on."""

    NEIGHBOUR = "neighbour"  # the next string over: the lower one where there is one
    ANY = "any"  # whichever of the others


@dataclass(frozen=True, slots=True)
class Character:
    """How somebody acts on what the panel says; what has no unit is a probability, 0 to 1."""

    name: str
    least: float = 0.75  # turns at least so many times as far as the picture says
    most: float = 1.25  # and at most so many times
    strays: float = 0.0  # the hand is on another string's peg or screw
    hand: Hand = Hand.NEIGHBOUR  # on which
    each_turn: bool = False  # it strays anew for each turn, and no picture clears it up
    dawdles: float = 0.0  # plucks without having turned
    wrong_way: float = 0.0  # turns the other way round
    wrong_string: float = 0.0  # plucks the neighbour
    same_again: float = 0.0  # plucks the string again that was plucked last
    out_of_order: float = 0.0  # asked to pluck without a turn, plucks whichever string comes to hand
    mixes_up: float = 0.0  # takes the neighbour for the string asked for: plucks it and turns it
    ignores: float = 0.0  # goes on tightening where the panel says to stop
    beyond: Cents = Cents(0.0)  # every turn goes on by what is worth so much
    repeats: int = 1  # turns so often before plucking
    turns_while_plucking: bool = False
    by_ear: bool = False  # turns until it is right, the way the picture says
    learns: bool = True  # the hand turns less after each change of direction
    pitchless: float = 0.0  # plucks that give no pitch
    other_child: float = 0.0  # plucks into which another child's string sounds
    grown_up_comes: bool = False  # when the panel asks for one
    own_order: bool = False  # plucks the strings as they please, from the highest down
    patient: bool = False  # never presses a button, never leaves
    listens: Seconds = LISTENS
    turns: Seconds = TURNS
    reads: bool = True  # waits for a picture of this pluck, if need be

    @property
    def heeds(self) -> bool:
        """Whether each turn is made once, between half and twice as far as its picture says.

        Whichever peg the hand is on, and whichever way round: who takes every arrow for its opposite means
        well, too.
        """
        return (
            self.least >= 0.5
            and self.most <= 2.0
            and self.ignores == 0.0
            and self.beyond == 0.0
            and self.repeats == 1
        )


CHARACTERS: Mapping[str, Character] = {
    c.name: c
    for c in (
        Character("careful"),
        Character("perfect", by_ear=True),
        Character("hasty", least=1.6, most=2.0),
        Character("by-the-picture", least=0.5, most=2.0),
        Character("hesitant", dawdles=0.5),
        Character("with-a-grown-up", grown_up_comes=True),
        Character("teacher", by_ear=True, own_order=True, listens=Seconds(0.8), turns=Seconds(0.8)),
        Character("turns-while-plucking", turns_while_plucking=True),
        Character("wrong-way", wrong_way=0.2),
        Character("always-wrong-way", wrong_way=1.0, learns=False),
        Character("wrong-string", wrong_string=0.25),
        Character("wrong-peg", strays=0.3),
        Character("neighbours-peg", least=0.5, most=2.0, strays=0.4, each_turn=True),
        Character("hasty-on-the-neighbours-peg", least=1.6, most=2.0, strays=0.4, each_turn=True),
        Character("any-peg", least=0.5, most=2.0, strays=0.5, hand=Hand.ANY, each_turn=True),
        Character("wrong-peg-and-string", mixes_up=0.3),
        Character("overshoots", beyond=Cents(15.0), learns=False),
        Character("turns-again", repeats=3),
        Character("does-not-wait", listens=Seconds(0.3), reads=False),
        Character("plucks-fast", listens=Seconds(0.25), reads=False, dawdles=0.9),
        Character("half-the-plucks-pitchless", pitchless=0.5),
        Character("pitchless", pitchless=1.0),
        Character("two-children", other_child=0.5),
        Character("ignores-warnings", ignores=0.7),
    )
}
