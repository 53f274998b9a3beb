"""What comes next: which string is worked on, heard again, shown right, or that the lesson is over.

Strings a long way down come first, from the lowest up: the highest stands nearest to breaking and bears
least. Then all of them, in the order of the settings, and at last what was right before and may have moved.
A string counts as right only while it was heard after the last turn that could have moved it.
"""

from device.config.settings import Order, Settings
from device.instrument.frozen import replace
from device.instrument.tuning_parts import FINE_REACH
from device.lesson.advice import Advice, Say
from device.lesson.evidence import SURE, Context, Outcome
from device.lesson.memory import (
    Finished,
    HearingOthers,
    Known,
    Lesson,
    ShowingLeft,
    Surveying,
    TellingApart,
    Tuning,
)
from device.lesson.state import Phase
from device.lesson.turns import left, turn_for
from device.safety.monitor import SHARP
from dsp import Cents

SLACK_SET = Cents(-400.0)  # strings further down come up in turns
AHEAD = Cents(200.0)  # so far one may go ahead of the slackest; neighbours stand 500 or 700 apart
FAR = Cents(100.0)  # a string without a fine tuner that is further down is far
PLUCKS_A_STRING = 23  # heard; one in twenty is not, and after 25 a lesson is over, handed over if need be
TOO_SOON = 40  # plucks of the whole lesson, each too soon after the last: the child wants to play; chosen
MOST_STUCK = 10  # plucks of a string that came no nearer to its place
MOST_PASSED = 12  # soundings that were to be of a string and were not: three rounds of all four
BIG_TURN = 300.0  # cents by pegs; then the bridge is looked at


def order_of(settings: Settings) -> tuple[str, ...]:
    """Names of all strings in the order they are asked for.

    `A_FIRST` starts at the A (the orchestra's order), goes down from there and then up; without an A
    string it goes from high to low. `WHICHEVER_IS_PLUCKED` starts from high to low and follows the player.
    """
    names = tuple(string.name for string in settings.strings)
    if settings.order is Order.LOW_TO_HIGH:
        return names
    letters = [string.letter for string in settings.strings]
    if settings.order is Order.A_FIRST and "A" in letters:
        start = len(letters) - 1 - letters[::-1].index("A")
        return names[start::-1] + names[start + 1 :]
    return names[::-1]


def next_step(lesson: Lesson, now: Context, current: str, say: Say = Say.TURN) -> Outcome:
    """The picture that the lesson has come to."""
    if spent(lesson):
        return finished(lesson, now)
    if isinstance(lesson.task, Surveying) and (waiting := to_survey(lesson, now)):
        return asked_for(lesson, waiting, Say.PLUCK_ALL if lesson.task.strict else Say.PLUCK)
    if current and lesson.wound >= BIG_TURN and abs(now.off(lesson.of(current))) < 50.0:
        lesson = replace(lesson, wound=0.0, pending=None, task=ShowingLeft(current))
        return Outcome(lesson, Advice(Say.CHECK_BRIDGE, string=current), current)
    chosen = _chosen(lesson, now, current)
    if chosen is None:
        return finished(lesson, now)
    return work_on(lesson, now, chosen, say)


def given_up(lesson: Lesson, now: Context, name: str) -> Outcome:
    """Plucked again and again and nothing came of it: leave it, and what waits for it; the rest goes on."""
    lesson = replace(lesson, unclear=0, again=0)
    match lesson.task:
        case Surveying():
            return finished(lesson, now)
        case HearingOthers(string) | TellingApart(string):
            lesson = lesson.knowing(replace(lesson.of(string), left=True))
    return left(lesson, now, name)


def spent(lesson: Lesson) -> bool:
    """Whether so many plucks were made that the lesson is handed over as it stands."""
    return lesson.plucks >= PLUCKS_A_STRING * len(lesson.known) or lesson.too_soon >= TOO_SOON


def work_on(lesson: Lesson, now: Context, name: str, say: Say = Say.TURN) -> Outcome:
    """The next thing for one string: hear it, or turn it."""
    known = lesson.of(name)
    lesson = replace(lesson, task=Tuning(name))
    if (known.stuck >= MOST_STUCK or known.passed > MOST_PASSED) and not now.right(known):
        return left(lesson, now, name)
    if known.hz is None or known.stale or known.unsure or (known.doubted and now.seems_right(known)):
        return asked_for(lesson, name, Say.CHECK if known.was_right else Say.PLUCK)
    if abs(now.off(known)) <= SURE * known.error and not now.right(known):
        return asked_for(lesson, name, Say.PLUCK_AGAIN)
    if _only_pulled(known, now):
        return asked_for(lesson, name, Say.CHECK)
    return turn_for(lesson, now, name, say)


def _only_pulled(known: Known, now: Context) -> bool:
    """Whether it may have been right before others were turned: they pulled it less than twice its doubt."""
    return known.pulled > 0.0 and abs(now.off(known)) <= now.width + 2.0 * known.pulled


def asked_for(lesson: Lesson, name: str, say: Say) -> Outcome:
    """Ask for a pluck of a string."""
    return Outcome(replace(lesson, pending=None), Advice(say, string=name), name, Phase.WAITING)


def to_survey(lesson: Lesson, now: Context) -> str | None:
    """The next string to be heard before anything is turned; None when all are known."""
    unheard = [n for n in lesson.live if lesson.of(n).hz is None]
    strict = isinstance(lesson.task, Surveying) and lesson.task.strict
    if not unheard:
        return None
    order = lesson.live if strict else order_of(now.settings)
    fewest = min(lesson.of(n).skipped for n in unheard)
    return next(n for n in order if n in unheard and lesson.of(n).skipped == fewest)


def _chosen(lesson: Lesson, now: Context, current: str) -> str | None:
    """The string to work on; the present one as long as it needs it.

    What stands far too high comes first, since nothing is tightened before it is down. Then what is far down,
    by whichever part, from the lowest string up: the one nearest to breaking keeps its room longest, and
    nothing is tuned finely that a large turn will pull again. What was right already is checked last.
    """
    open_ = [k for k in lesson.known if not (k.struck or k.left or now.right(k))]
    open_ = [k for k in open_ if k.skipped == min(k.skipped for k in open_) and k.skipped < 2]
    names = [k.name for k in open_]
    if not names:
        return None
    sharp = [k.name for k in open_ if now.off(k) > SHARP]
    if sharp:
        return sharp[-1]
    coarse = [k.name for k in open_ if k.hz is not None and now.off(k) < -_fine(now, k)]
    if coarse:
        return _coarse_next(lesson, now, coarse, current)
    if isinstance(lesson.task, Tuning | HearingOthers) and current in names:
        return current
    fresh = {k.name for k in open_ if not k.was_right} or names
    return next(name for name in order_of(now.settings) if name in fresh)


def _coarse_next(lesson: Lesson, now: Context, coarse: list[str], current: str) -> str:
    """Slack strings come up together, the slackest first, so that each still sounds higher than the last."""
    slackest = min(coarse, key=lambda name: now.off(lesson.of(name)))
    if now.off(lesson.of(slackest)) > SLACK_SET:
        return current if current in coarse else coarse[0]
    ahead = current in coarse and now.off(lesson.of(current)) - now.off(lesson.of(slackest)) < AHEAD
    return current if ahead else slackest


def _fine(now: Context, known: Known) -> Cents:
    """How far down a string may be to be left for the fine tuning."""
    return FAR if now.strung.of(known.name).screw is None else FINE_REACH


def finished(lesson: Lesson, now: Context) -> Outcome:
    """The end picture: everything right, or what stays off."""
    right = all(now.right(known) for known in lesson.known)
    last = order_of(now.settings)[-1]
    known = [k if now.right(k) else replace(k, left=True) for k in lesson.known]
    lesson = replace(lesson.knowing(*known), task=Finished(), pending=None)
    return Outcome(lesson, Advice(Say.ALL_RIGHT if right else Say.STAYS_OFF), last, Phase.FINISHED)
