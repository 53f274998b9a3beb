"""One pupil at Count: a bar is counted in, plucked, and told; then the next, or the same again.

    ready --a pluck--> counting in --a bar--> playing --a bar--> told --a moment--> counting in
      ^                                          |
      +--------- nothing was plucked ------------+

By ear first, what was judged is hidden until next is pressed.

Moments are the loop's. A stroke counts at the moment it was made, less the delay of the sound card and the
loudspeaker that the settings name.
"""

from dataclasses import dataclass, replace
from enum import Enum

from device.config.practice_settings import CountStep
from device.config.settings import Settings
from device.events import Button, Pressed, Struck
from device.notation.chance import Chance, seeded
from device.notation.lengths import Bar, Sixteenths, beats
from device.practice.count.figures import STEP_ROWS, bar_drawn
from device.practice.count.tempo import mark_beside, paced, tapped
from device.practice.count.timing import REACH_S, JudgedStroke, judged_bar, near_enough
from device.practice.events import PracticeEvent, PracticeTone
from dsp import Seconds
from dsp.clicks import Click

BEFORE_COUNT_IN_S = Seconds(
    1.0
)  # from the pluck that begins to the count-in; chosen: time to get the hand back
TOLD_S = Seconds(3.0)  # how long a bar's verdicts stand; chosen: five signs are read in that time
KNOWN_LATE_S = Seconds(0.25)  # a stroke is known at most so long after: `dsp.attacks`, a block and a tick
REFRACTORY_S = Seconds(0.05)  # two beginnings within mir_eval's window are one; an eighth at 160 is 0.19 s
SAME_BAR = 3  # times in a row, then another
LAST_BARS, LEAVES_AT = 10, 9  # a step is left when nine of the last ten bars went well: as in Read
LEARNS_UP, LEARNS_DOWN = 0.6, 0.2  # as in the loudness gate
CLICKS_LEAD_S = Seconds(0.1)  # chosen: so long before the first click its sound is handed over


class CountPhase(Enum):
    """Where the practice stands."""

    READY = "ready"
    COUNTING_IN = "counting-in"
    PLAYING = "playing"
    HIDDEN = "hidden"  # by ear first: the player has not decided yet
    TOLD = "told"


@dataclass(frozen=True, slots=True)
class CountState:
    """Everything of one session."""

    step: CountStep
    tempo_bpm: int
    by_eighths: bool  # 6/8 beats in eighths
    bar: Bar
    chance: Chance
    now: Seconds
    since: Seconds  # when this phase began; of counting in: its first beat
    counts_from: Seconds = Seconds(0.0)  # the first beat of the last count-in
    phase: CountPhase = CountPhase.READY
    level_dbfs: float | None = None  # how loud this player's strokes are
    strokes: tuple[Seconds, ...] = ()  # from the first beat of the bar that is played
    judged: JudgedStroke | None = None
    tries: int = 0  # of this bar
    went: tuple[bool, ...] = ()  # at this tempo
    recent: tuple[bool, ...] = ()  # at this step
    taps: tuple[Seconds, ...] = ()

    @property
    def sixteenth_s(self) -> Seconds:
        """How long a sixteenth lasts at this tempo."""
        marks = beats(self.bar.metre, self.by_eighths)
        return Seconds(60.0 / self.tempo_bpm / (self.bar.metre.sixteenths / len(marks)))

    @property
    def bar_s(self) -> Seconds:
        """How long the bar lasts."""
        return Seconds(self.bar.metre.sixteenths * self.sixteenth_s)

    @property
    def wanted_s(self) -> tuple[Seconds, ...]:
        """When each note is to be plucked, from the first beat."""
        return tuple(Seconds(self.bar.starts[i] * self.sixteenth_s) for i in self.bar.plucked)

    @property
    def near_s(self) -> Seconds:
        """How near is right."""
        return near_enough(STEP_ROWS[self.step].near_s, Seconds(self.bar.shortest * self.sixteenth_s))

    @property
    def place(self) -> Sixteenths | None:
        """Where in its bar the mark stands, counting in or playing; None otherwise."""
        if self.phase not in {CountPhase.COUNTING_IN, CountPhase.PLAYING} or self.now < self.since:
            return None
        return min(int((self.now - self.since) / self.sixteenth_s), self.bar.metre.sixteenths)

    @property
    def beat(self) -> int | None:
        """The number of the beat that is being counted in, from 1; None otherwise."""
        if self.phase is not CountPhase.COUNTING_IN or self.place is None:
            return None
        return sum(moment <= self.place for moment in beats(self.bar.metre, self.by_eighths))


def count_begun(settings: Settings, at: Seconds) -> CountState:
    """The practice as it is entered; the moment seeds its chance."""
    bar, chance = bar_drawn(settings.count_step, seeded(round(1000.0 * at)))
    return CountState(
        settings.count_step, settings.tempo_bpm, settings.six_eight_by_eighths, bar, chance, at, at
    )


def count_after(state: CountState, event: PracticeEvent, settings: Settings) -> CountState:
    """The session after one event."""
    match event:
        case Struck():
            if _neighbours(state, event, settings):
                return state
            return _struck(_used_to(state, event.level_dbfs), Seconds(event.at - settings.sound_delay_s))
        case Pressed(at, button):
            return _button_pressed(state, button, at, settings)
    return _later(replace(state, now=max(event.at, state.now)), settings)


def count_settings(state: CountState, settings: Settings) -> Settings:
    """The settings with the step and the tempo that were reached."""
    return replace(settings, count_step=state.step, tempo_bpm=state.tempo_bpm)


def count_sound(state: CountState, _settings: Settings) -> PracticeTone | None:
    """The clicks of every beat, of the bar that is counted in and of the one that is played.

    One sound, begun a moment before the first click, so that however long a sound card takes to begin,
    the beats are even and all late by the same time, which `settings.sound_delay_ms` takes off.
    """
    begins = Seconds(state.counts_from - CLICKS_LEAD_S)
    if state.phase not in {CountPhase.COUNTING_IN, CountPhase.PLAYING} or state.now < begins:
        return None
    beat = beats(state.bar.metre, state.by_eighths)
    train = tuple(
        Click(Seconds(CLICKS_LEAD_S + bar * state.bar_s + moment * state.sixteenth_s), strong=moment == 0)
        for bar in range(2)
        for moment in beat
    )
    return PracticeTone(None, begins, Seconds(CLICKS_LEAD_S + 2.0 * state.bar_s), train)


def _neighbours(state: CountState, event: Struck, settings: Settings) -> bool:
    """Whether a stroke is softer than ours by more than the gate allows."""
    return state.level_dbfs is not None and event.level_dbfs < state.level_dbfs - settings.gate_db


def _used_to(state: CountState, level_dbfs: float) -> CountState:
    """The level of ours is learned as the loudness gate learns it: soon up, slowly down."""
    if state.level_dbfs is None:
        return replace(state, level_dbfs=level_dbfs)
    louder = level_dbfs - state.level_dbfs
    share = LEARNS_UP if louder > 0.0 else LEARNS_DOWN
    return replace(state, level_dbfs=state.level_dbfs + share * louder)


def _struck(state: CountState, at: Seconds) -> CountState:
    if state.phase is CountPhase.READY:
        begins = at > state.since + REACH_S
        return _counting_in(state, Seconds(at + BEFORE_COUNT_IN_S)) if begins else state
    if state.phase not in {CountPhase.COUNTING_IN, CountPhase.PLAYING}:
        return state
    first_beat = state.since + (state.bar_s if state.phase is CountPhase.COUNTING_IN else 0.0)
    moment = Seconds(at - first_beat)
    again = bool(state.strokes) and moment - state.strokes[-1] < REFRACTORY_S
    if again or not -REACH_S <= moment <= _ends(state):
        return state
    return replace(state, strokes=(*state.strokes, moment))


def _later(state: CountState, settings: Settings) -> CountState:
    """Time passed."""
    age = state.now - state.since
    if state.phase is CountPhase.COUNTING_IN and age >= state.bar_s:
        return replace(state, phase=CountPhase.PLAYING, since=Seconds(state.since + state.bar_s))
    if state.phase is CountPhase.PLAYING and age >= _ends(state) + KNOWN_LATE_S:
        return _judged(state, settings)
    if state.phase is CountPhase.TOLD and age >= TOLD_S:
        return _next_bar(state, settings)
    return state


def _ends(state: CountState) -> Seconds:
    """Until when a stroke may belong to the bar."""
    last = state.wanted_s[-1] if state.wanted_s else Seconds(0.0)
    return Seconds(max(state.bar_s, last + REACH_S))


def _judged(state: CountState, settings: Settings) -> CountState:
    if not state.strokes:
        return replace(state, phase=CountPhase.READY, since=state.now)
    judged = judged_bar(state.wanted_s, state.strokes, state.near_s)
    phase = CountPhase.HIDDEN if settings.by_ear else CountPhase.TOLD
    return replace(state, phase=phase, since=state.now, judged=judged)


def _next_bar(state: CountState, settings: Settings) -> CountState:
    """What follows a bar that was told: its tempo, its step, and the bar itself."""
    well = state.judged is not None and state.judged.well
    went, recent = (*state.went, well), (*state.recent, well)[-LAST_BARS:]
    tempo = paced(state.tempo_bpm, went)
    climbs = settings.steps_move and len(recent) == LAST_BARS and sum(recent) >= LEAVES_AT
    step = state.step.next if climbs else state.step
    state = replace(
        state,
        step=step,
        tempo_bpm=tempo,
        went=went if tempo == state.tempo_bpm else (),
        recent=recent if step is state.step else (),
        tries=state.tries + 1,
    )
    if well or state.tries >= SAME_BAR or climbs:
        bar, chance = bar_drawn(step, state.chance, state.bar)
        state = replace(state, bar=bar, chance=chance, tries=0)
    first_beat = Seconds(state.now + CLICKS_LEAD_S)
    return _counting_in(replace(state, strokes=(), judged=None), first_beat)


def _counting_in(state: CountState, first_beat: Seconds) -> CountState:
    return replace(state, phase=CountPhase.COUNTING_IN, since=first_beat, counts_from=first_beat)


def _button_pressed(state: CountState, button: Button, at: Seconds, settings: Settings) -> CountState:
    if state.phase is CountPhase.HIDDEN and button is Button.NEXT:
        return replace(state, phase=CountPhase.TOLD, since=at)
    if settings.locked:
        return state
    if button is Button.TONE:
        taps, tempo = tapped(state.taps, at)
        return _at_tempo(replace(state, taps=taps), state.tempo_bpm if tempo is None else tempo, at)
    return _at_tempo(state, mark_beside(state.tempo_bpm, 1 if button is Button.NEXT else -1), at)


def _at_tempo(state: CountState, tempo_bpm: int, at: Seconds) -> CountState:
    """Another tempo: the bar waits for a pluck, and what went before at the old one no longer counts."""
    return replace(
        state,
        tempo_bpm=tempo_bpm,
        went=() if tempo_bpm != state.tempo_bpm else state.went,
        phase=CountPhase.READY,
        since=at,
        strokes=(),
        judged=None,
    )
