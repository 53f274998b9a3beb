"""Says what a trial of one part found out, and talks to the person who may be standing by."""

import json
import sys
from dataclasses import dataclass

MARKS = {True: "good", False: "BAD", None: "not tried"}


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence about one thing; `works` is None when it was not tried."""

    what: str
    works: bool | None
    says: str

    def line(self, as_json: bool) -> str:
        """For a person, or one JSON object."""
        if as_json:
            return json.dumps({"check": self.what, "works": self.works, "says": self.says})
        return f"{self.what:<12} {MARKS[self.works]:<9} {self.says}"


class Person:
    """Somebody at the terminal, or nobody: then nothing is asked and nothing is waited for."""

    def __init__(self, there: bool | None = None) -> None:
        self.there = sys.stdin.isatty() if there is None else there

    def tell(self, sentence: str) -> None:
        """Say something that is not part of the report."""
        print(sentence, file=sys.stderr, flush=True)

    def agrees(self, question: str) -> bool:
        """Yes or no; no when nobody answers."""
        if not self.there:
            return False
        print(f"{question} [y/n] ", end="", file=sys.stderr, flush=True)
        return sys.stdin.readline().strip().lower().startswith("y")
