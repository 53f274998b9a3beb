"""Debounces the push buttons and turns their levels over time into presses.

A contact bounces for a few milliseconds when it closes and opens, so a level counts only after it has held
still for `debounce_s`. Each contact is debounced by itself: one that never stops chattering does not
disturb the others. `Pressed` is reported when a button comes up before the holding time, `Held` once when
it has been down that long, and `ChordHeld` once when next and previous, and nothing else, have been down
together for the chord's time. Any other two buttons at once report nothing until all are up again. A button
that is down at the first look, or for far too long, is left out until it comes up.

This is a pure function of time: the same levels at the same times give the same presses.
"""

from collections.abc import Collection
from dataclasses import dataclass, replace

from device.config.settings import PressTimes
from device.events import Button, ChordHeld, Held, Press, Pressed
from dsp import Seconds

CHORD = frozenset({Button.NEXT, Button.PREVIOUS})
NOBODY: frozenset[Button] = frozenset()


@dataclass(frozen=True, slots=True)
class Contact:
    """One button: the level last looked at, since when, and the level that counts."""

    button: Button
    level: bool
    since: Seconds
    down: bool


@dataclass(frozen=True, slots=True)
class PressState:
    """What is known of the buttons at one moment."""

    contacts: tuple[Contact, ...] = ()  # none before the first look
    left_out: frozenset[Button] = NOBODY  # stuck, or down at the first look; for the journal
    down: frozenset[Button] = NOBODY
    down_since: Seconds = Seconds(0.0)
    spent: bool = False  # what is down has said all it will say


def detect_presses(
    before: PressState, levels: Collection[Button], at: Seconds, times: PressTimes
) -> tuple[PressState, tuple[Press, ...]]:
    """Look at the levels at the moment `at`: the new state, and what was pressed."""
    if not before.contacts:
        first = tuple(Contact(button, button in levels, at, button in levels) for button in Button)
        return PressState(first, left_out=frozenset(levels)), ()
    contacts = tuple(_settled(c, c.button in levels, at, times.debounce_s) for c in before.contacts)
    closed = frozenset(contact.button for contact in contacts if contact.down)
    left_out = before.left_out & closed
    if contacts == before.contacts and left_out == before.left_out:
        now = before
    else:
        now = replace(before, contacts=contacts, left_out=left_out)
    down = closed - now.left_out
    return _changed(now, down, at) if down != before.down else _unchanged(now, at, times)


def _settled(contact: Contact, level: bool, at: Seconds, debounce_s: Seconds) -> Contact:
    if level != contact.level:
        return replace(contact, level=level, since=at)
    if level == contact.down:
        return contact
    return replace(contact, down=level) if at - contact.since >= debounce_s else contact


def _changed(now: PressState, down: frozenset[Button], at: Seconds) -> tuple[PressState, tuple[Press, ...]]:
    """Another set of buttons is down than before."""
    old = now.down
    released = not down and len(old) == 1 and not now.spent
    begins = not old and len(down) == 1
    chord = down == CHORD and not now.spent  # two others that were down are spent
    spent = bool(down) and not (begins or chord)
    after = replace(now, down=down, down_since=at, spent=spent)
    return after, tuple(Pressed(at, button) for button in old) if released else ()


def _unchanged(now: PressState, at: Seconds, times: PressTimes) -> tuple[PressState, tuple[Press, ...]]:
    """The same buttons are down as before."""
    age = at - now.down_since
    if now.down and age >= times.stuck_s:
        return replace(now, left_out=now.left_out | now.down, down=NOBODY, spent=False), ()
    if now.spent or not now.down:
        return now, ()
    if now.down == CHORD:
        return (replace(now, spent=True), (ChordHeld(at),)) if age >= times.chord_s else (now, ())
    if age >= times.hold_s:
        (button,) = now.down
        return replace(now, spent=True), (Held(at, button),)
    return now, ()
