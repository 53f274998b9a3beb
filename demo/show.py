"""`wallpeg demo`: the real loop, tracker, coach and screen, with stand-ins for the parts.

Without a terminal it prints a line per event; in a terminal it draws the panel. Either way the last
thing is a table of the strings.
"""

import random
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TextIO

from PIL import Image

from demo.director import Director
from demo.parts import KeptPanel, KeyButtons, RoomMicrophone, SteppedClock, WallClock
from demo.players import CHARACTERS, Player
from demo.room import Room
from demo.terminal import Screenful, TerminalPanel, buttons_of
from demo.workshop import Build, Start, errors, found
from device.coach import table
from device.coach.state import Advice, Coach
from device.coach.words import sentence
from device.loop import Moment, Parts, Thought, run
from device.ports import Clock, Panel
from device.settings import Settings
from dsp import Seconds

SAMPLE_RATE_HZ = 48_000  # what most sound cards give
LONGEST_S = Seconds(58.0)  # the demo ends within a minute, whatever happens
"""The scenario: Quince Lane, an invented studio of four invented pupils."""


@dataclass(frozen=True, slots=True)
class Pupil:
    """Somebody of the scenario, with the instrument they bring."""

    name: str
    build: Build
    start: Start
    character: str
