"""The strip along the bottom: the strings low to high, and what a teacher reads beside them."""

from PIL import Image

from device.config.settings import Settings
from device.instrument.tuning_parts import Amount, TuningPart
from device.lesson.advice import Advice, Say
from device.lesson.state import Mark, Phase
from device.panel.drawing import key_caps, turn_reasons
from device.panel.drawing.lettering import number, words
from device.panel.drawing.plate import INK, Plate, cached
from device.panel.scene import Scene
from dsp import Cents, Instrument, OpenString, Seconds

TOP, HEIGHT = 52, 10  # pixels
STRIP_MARGIN = 2  # pixels of dark to the left and right: a panel's glass may cover the outermost
_BOXES = 56  # pixels for all of them
_WHY_X = 62  # pixels
_TAKE_TURNS_S = 1.5  # seconds for the words and as long for the cents, where both are to be shown
_OF_PITCH = frozenset({"reference_hz", "temperament"})
_OF_INSTRUMENT = frozenset({"instrument", "retuned", "left_handed", "size", "cores", "string_set"})


@cached
def box(mark: Mark, now: bool, width: int, height: int = HEIGHT) -> Image.Image:
    """Hollow to do, solid right, half filled drifted, a tall figure by a small one for a grown-up."""
    plate = Plate(width, height)
    if now:
        plate.box(0, 0, width, height)
        plate.box(1, 1, width - 1, height - 1, ink=False)
    if mark is Mark.GROWN_UP:
        middle, unit = width / 2.0, height / 11.0
        plate.disc((middle - 2 * unit, 3 * unit), 1.5 * unit)
        plate.box(middle - 3.5 * unit, 4 * unit, middle - 0.5 * unit, 9 * unit)
        plate.disc((middle + 2.5 * unit, 5.5 * unit), 1.3 * unit)
        plate.box(middle + 1.5 * unit, 7 * unit, middle + 3.5 * unit, 9 * unit)
        return plate.mask()
    plate.box(2, 2, width - 2, height - 2)
    if mark is not Mark.RIGHT:
        lower = height - 3 if mark is Mark.TO_DO else height // 2
        plate.box(3, 3, width - 3, lower, ink=False)
    return plate.mask()


def strip(picture: Image.Image, scene: Scene, at: Seconds) -> None:
    """One box a string, low to high, the one asked for framed; on the right cents or a few words."""
    coach = scene.coach
    if scene.by_ear:
        key_caps.row(picture, key_caps.guesses())
        return
    waits = coach.phase is Phase.WAITING and coach.cents is None and not scene.unfollowed
    if waits and key_caps.at_home(picture, scene, at):
        return
    step = _BOXES // max(1, len(coach.strings))
    for i, string in enumerate(coach.strings):
        picture.paste(
            INK, (STRIP_MARGIN + step * i, TOP), box(string.mark, string.name == coach.string, step - 2)
        )
    if waits:
        _what_is_set(picture, scene.settings, scene.unusual)
    else:
        _figures(picture, scene, at)


def _figures(picture: Image.Image, scene: Scene, at: Seconds) -> None:
    """Cents, or a few words; of a turn both by turns, the cents with the sign of why."""
    coach = scene.coach
    cents, texts = shown_cents(coach.cents, coach.std_error_cents), captions(scene)
    both = coach.advice.turn is not TuningPart.NONE or coach.advice.say is Say.GROWN_UP
    shown: tuple[str | None, ...] = (*texts, None) if both else (None,)
    if cents is None or scene.unfollowed or scene.judged is not None or coach.advice.say is Say.TURN_ON:
        shown = texts
    text = shown[int(at / _TAKE_TURNS_S) % len(shown)] if shown else None
    if text is not None:
        mask = words(text)
        picture.paste(INK, (picture.width - STRIP_MARGIN - mask.width, TOP), mask)
        return
    if cents is not None:
        mask = number(cents)
        picture.paste(INK, (picture.width - STRIP_MARGIN - mask.width, TOP + 1), mask)
    why = turn_reasons.reason(coach.advice.say)
    if why is not None:
        picture.paste(INK, (_WHY_X, TOP), why)


def _what_is_set(picture: Image.Image, settings: Settings, unusual: frozenset[str]) -> None:
    """Instrument and reference pitch, each turned over when it is not the usual one."""
    instrument, pitch = (words(text) for text in instrument_and_pitch(settings))
    left = picture.width - STRIP_MARGIN - pitch.width - 1
    _maybe_lit(picture, left, pitch, bool(unusual & _OF_PITCH))
    beside = max(left - instrument.width - 4, STRIP_MARGIN + _BOXES)
    _maybe_lit(picture, beside, instrument, bool(unusual & _OF_INSTRUMENT))


def _maybe_lit(picture: Image.Image, left: int, text: Image.Image, lit: bool) -> None:
    if lit:
        picture.paste(INK, (left - 1, TOP, left + text.width + 1, TOP + text.height))
    picture.paste(0 if lit else 1, (left, TOP), text)


def shown_cents(cents: Cents | None, std_error_cents: Cents | None) -> str | None:
    """Signed cents, as fine as they are sure; None while they are not known well enough.

    >>> shown_cents(Cents(-12.3), Cents(0.3)), shown_cents(Cents(-12.3), Cents(3.0))
    ('-12', '-10')
    >>> shown_cents(None, None) is shown_cents(Cents(2.0), Cents(9.0)) is None
    True
    """
    if cents is None:
        return None
    error = 4.0 if std_error_cents is None else std_error_cents
    step = 1 if error <= 1.0 else 5 if error <= 4.0 else 10
    rounded = step * round(cents / step)
    return f"{rounded:+d}" if rounded or step == 1 else None


_SHORT = {
    "pluck": "pluck",
    "pluck-again": "pluck again",
    "come-up": "up again",
    "push-in": "push in",
    "loosen-back": "loosen back",
    "back-out": "back it out",
    "turn-on": "this way",
    "pluck-others": "other three",
    "pluck-all": "pluck each",
    "wait": "wait",
    "grown-up": "grown-up",
    "ask-teacher": "ask teacher",
    "right": "in tune",
    "check": "check",
    "no-pitch": "no pitch",
    "too-fast": "let it ring",
    "check-bridge": "see bridge",
}
_AMOUNT = {Amount.A_HAIR: "a hair", Amount.A_LITTLE: "a little", Amount.MORE: "farther"}
_INSTRUMENT = {
    Instrument.VIOLIN: "violin",
    Instrument.VIOLA: "viola",
    Instrument.CELLO: "cello",
    Instrument.DOUBLE_BASS: "bass",
}


def captions(scene: Scene) -> tuple[str, ...]:
    """Up to eleven letters each, to be shown one after the other; none where the picture says it all."""
    coach, advice = scene.coach, scene.coach.advice
    if scene.judged is not None or scene.unfollowed:
        return _of_the_player(scene)
    if advice.turn is not TuningPart.NONE:
        return _of_a_turn(advice)
    if coach.phase is Phase.LISTENING and advice.say is Say.PLUCK:
        return ("listening",)
    if advice.say is Say.OTHER_STRING and advice.heard is not None:
        return (f"that was {OpenString.named(advice.heard).letter}",)
    if advice.say is Say.GROWN_UP:
        return (_SHORT[advice.say.value], "hold both")
    return (_SHORT[advice.say.value],) if advice.say.value in _SHORT else ()


def _of_the_player(scene: Scene) -> tuple[str, ...]:
    """What the player's own guess came to, or that the pluck was too soft to be theirs."""
    if scene.judged is None:
        return ("too soft",)
    return (f"{scene.judged.guess.value}: {'yes' if scene.judged.so else 'no'}",)


def _of_a_turn(advice: Advice) -> tuple[str, ...]:
    """Why; or of a plain turn of a peg which way and how far."""
    why = (_SHORT[advice.say.value],) if advice.say.value in _SHORT else ()
    if why or advice.turn is not TuningPart.PEG:
        return why
    way = () if advice.away is None else ("away" if advice.away else "towards you",)
    far = () if advice.amount is None else (_AMOUNT[advice.amount],)
    return way + far


def instrument_and_pitch(settings: Settings) -> tuple[str, str]:
    """What is set, in as few letters as can be."""
    return _INSTRUMENT[settings.instrument], f"{settings.reference_hz:.1f}".removesuffix(".0")
