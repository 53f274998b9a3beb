"""What happened, as lines for people; and the closing table."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from device.config.settings import Settings
from device.events import Plucked
from device.lesson.advice import Say
from device.lesson.state import Coach, Phase
from device.lesson.words import sentence
from device.runtime.loop_interface import Snapshot
from dsp import Cents, Seconds

STANDS_FOR = Seconds(0.3)  # what the panel says is told once it has stood this long; chosen


class Journal:
    """Tells what the box says, once for each thing it says."""

    def __init__(self, settings: Settings, write: Callable[[str], None], tell_plucks: bool) -> None:
        self._settings, self._write, self._tell_plucks = settings, write, tell_plucks
        self._words = ""  # what the box says now
        self._line: str | None = None  # the same with its cents, while it has not been told
        self._since = Seconds(0.0)

    def tell(self, at: Seconds, what: str) -> None:
        """One thing that happened; first what the box said before it."""
        self._tell_box(at)
        self._write(f"{at:6.1f} s  {what}")

    def watch(self, snapshot: Snapshot) -> None:
        """Tell what is new on the panel."""
        plucked = any(isinstance(event, Plucked) for event in snapshot.events)
        if plucked and self._tell_plucks:
            self.tell(snapshot.at, "a string sounds")
        if plucked and snapshot.scene.practice is None:
            self._words = ""  # said again for the new sounding, even in the same words
        now = self._said_now(snapshot)
        if now is None:
            self._words, self._line = "", None
            return
        words, line = now
        if words != self._words:
            self._words, self._since = words, snapshot.at
        elif self._line is None:
            return
        self._line = line
        if snapshot.at - self._since >= STANDS_FOR:
            self._tell_box(snapshot.at)

    def _said_now(self, snapshot: Snapshot) -> tuple[str, str] | None:
        """What the box says, without its cents and with them; None while it only listens."""
        running, coach = snapshot.scene.practice, snapshot.coach
        if running is not None:
            words = running.practice.words(running.state, self._settings)
            return None if words is None else (words, words)
        if coach.phase is Phase.LISTENING:
            return None
        return f"{coach.string} {sentence(coach.advice, self._settings)}", said(coach, self._settings)

    def _tell_box(self, at: Seconds) -> None:
        if self._line is not None:
            line, self._line = self._line, None
            self._write(f"{at:6.1f} s  the box: {line}")


def said(coach: Coach, settings: Settings) -> str:
    """String, cents and advice as one line."""
    words = sentence(coach.advice, settings)
    if coach.phase is Phase.FINISHED or coach.advice.say is Say.ALL_RIGHT:
        return words
    off = "" if coach.cents is None else f" {coach.cents:+.1f} cents."
    return f"{coach.string}.{off} {words}"


@dataclass(frozen=True, slots=True)
class SummaryRow:
    """One string in the closing table; cents are None where nothing was heard or nothing sounds."""

    string: str
    before: Cents | None
    after: Cents | None
    plucks: int


def closing_table(rows: tuple[SummaryRow, ...]) -> str:
    """The table string, before, after, plucks."""
    head = f"{'string':<8}{'before':>14}{'after':>14}{'plucks':>8}"
    return "\n".join(
        [head, *(f"{r.string:<8}{_off(r.before):>14}{_off(r.after):>14}{r.plucks:>8}" for r in rows)]
    )


def rows_heard(coach: Coach, plucks: Mapping[str, int]) -> tuple[SummaryRow, ...]:
    """The table as far as the box itself knows it."""
    return tuple(
        SummaryRow(s.name, s.first_cents, s.last_cents, plucks.get(s.name, 0)) for s in coach.strings
    )


def _off(cents: Cents | None) -> str:
    return "-" if cents is None else f"{cents:+.1f} cents"
