"""Which note comes next: what troubled the child comes back sooner.

The rule is that of S. Leitner's card boxes (So lernt man lernen, Herder 1972): a card that was known goes one
compartment further, where it waits longer; one that was not goes back to the first. The waits double
from compartment to compartment; they are counted in notes asked, since a practice is short (our choice).
"""

from dataclasses import dataclass, replace

from device.notation.chance import Chance
from device.practice.read.steps import Asked

COMPARTMENTS = 5
_SOONEST = 2  # notes: what was missed is not asked for again at once


@dataclass(frozen=True, slots=True)
class Card:
    """A note, and when it is due again."""

    asked: Asked
    compartment: int = 0  # 1..COMPARTMENTS; 0 before it was asked for
    due: int = 0  # counted in notes answered


@dataclass(frozen=True, slots=True)
class Deck:
    """All notes of a step."""

    cards: tuple[Card, ...]
    answered: int = 0
    last: Asked | None = None

    def answered_with(self, asked: Asked, known: bool) -> "Deck":
        """The deck after an answer: the card moves, and every other waits one note less."""
        count = self.answered + 1
        cards = tuple(_moved(card, count, known) if card.asked == asked else card for card in self.cards)
        return Deck(cards, count, asked)

    def drawn(self, chance: Chance) -> tuple[Asked, Chance]:
        """The next note, never the last again where there is another.

        First what was missed and is due, then what was not yet asked for, then what was known and is
        due; where nothing is, what will be due first.
        """
        others = [card for card in self.cards if card.asked != self.last] or list(self.cards)
        first = min(self._rank(card) for card in others)
        card, chance = chance.pick([card for card in others if self._rank(card) == first])
        return card.asked, chance

    def _rank(self, card: Card) -> int:
        if card.due > self.answered:
            return 3 + card.due
        return {0: 1, 1: 0}.get(card.compartment, 2)


def deck_of(asked: tuple[Asked, ...]) -> Deck:
    """A fresh deck; nothing was asked for yet."""
    return Deck(tuple(Card(one) for one in asked))


def _moved(card: Card, count: int, known: bool) -> Card:
    if not known:
        return replace(card, compartment=1, due=count + _SOONEST)
    compartment = min(max(card.compartment, 1) + 1, COMPARTMENTS)
    return replace(card, compartment=compartment, due=count + 2**compartment)
