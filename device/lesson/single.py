"""What to say to one reading, seen by itself.

`advise` knows nothing of earlier readings: no other string was heard, so each may stand 200 cents above
its target, and nothing is known of what a turn does. It asks for a turn under the very rules of the
lesson and within the monitor's bounds; what takes a second pluck or a survey it leaves to a teacher.
"""

import math

from device.config.settings import Settings
from device.instrument.frozen import replace
from device.instrument.pitch_bounds import Bound
from device.instrument.roll_call import PLACE_ABOVE, PLACE_BELOW
from device.instrument.strung import strung
from device.instrument.tuning_parts import TuningPart
from device.lesson.advice import Advice, Alarm, Say
from device.lesson.evidence import SURE, Context
from device.lesson.memory import Known, Lesson, Tuning
from device.lesson.turns import turn_for
from device.safety.string_bounds import MOST_DOUBT, Watch
from dsp import Cents, Seconds, shifted

LONE_BELOW = Cents(-100.0)  # a lone reading further below its place may be an octave or a fifth misread
NEVER_HEARD = Cents(200.0)  # a string nobody heard is taken to stand so far above its place
FARTHEST = 6000.0  # cents; five octaves off is no reading of this string


def advise(
    string: str, cents: Cents, std_error_cents: Cents, octave_doubt: float, settings: Settings
) -> Advice:
    """What a lone reading deserves.

    Parameters
    ----------
    string : the open string aimed at, by name
    cents : distance from its target, sharp positive
    std_error_cents : one standard error of `cents`
    octave_doubt : 0..1, how likely the octave is wrong

    Returns
    -------
    the advice; a string left for a grown-up says in its direction and rotation how to turn the peg,
    though it asks for no turn
    """
    numbers = (cents, std_error_cents, octave_doubt)
    sane = all(math.isfinite(n) for n in numbers) and max(abs(cents), std_error_cents) <= FARTHEST
    if not sane or string not in settings.targets:
        return Advice(Say.PLUCK_AGAIN)
    lesson, now = _lone(string, cents, std_error_cents, settings)
    return _not_near(now, string, cents, octave_doubt) or _near(lesson, now, string)


def _not_near(now: Context, string: str, off: Cents, octave_doubt: float) -> Advice | None:
    """The advice for a reading that is in danger, in doubt or in another place; None near its own."""
    of_this = now.strung.of(string)
    hz = shifted(of_this.target_hz, off)
    nearest = now.strung.nearest(hz)
    if nearest == string and of_this.limit_hz <= hz <= of_this.highest_hz:
        return Advice(Say.WAIT, warning=Alarm.STOP)
    if octave_doubt > MOST_DOUBT:
        return Advice(Say.PLUCK_AGAIN)
    if nearest != string and PLACE_BELOW <= now.strung.off(hz, nearest) <= PLACE_ABOVE:
        return Advice(Say.OTHER_STRING, string=string, heard=nearest)
    if not LONE_BELOW <= off <= PLACE_ABOVE or nearest != string:
        return Advice(Say.ASK_TEACHER)
    return None


def _near(lesson: Lesson, now: Context, string: str) -> Advice:
    """The advice for a reading near its place."""
    known = lesson.of(string)
    if now.right(known):
        return Advice(Say.RIGHT)
    if abs(now.off(known)) <= SURE * known.error:
        return Advice(Say.PLUCK_AGAIN)
    advice = turn_for(lesson, now, string).advice
    if advice.say is Say.PLUCK_OTHERS or (advice.turn is TuningPart.NONE and advice.rotation is None):
        return Advice(Say.ASK_TEACHER)
    return replace(advice, string=string)


def _lone(string: str, off: Cents, error: Cents, settings: Settings) -> tuple[Lesson, Context]:
    """A lesson and a watch with nothing before this reading."""
    instrument = strung(settings)
    hz = shifted(settings.targets[string], off)
    bounds = tuple(
        Bound(
            s.name,
            shifted(hz, Cents(SURE * error)) if s.name == string else shifted(s.target_hz, NEVER_HEARD),
        )
        for s in instrument.strings
    )
    known = tuple(Known(s.name, hz, error) if s.name == string else Known(s.name) for s in instrument.strings)
    now = Context(instrument, settings, Watch(bounds), Seconds(0.0), settings.tolerance.cents)
    return Lesson(known, Tuning(string)), now
