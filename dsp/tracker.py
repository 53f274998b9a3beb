"""PitchTracker: sound in, readings out; the one thing in `dsp` that remembers.

Sound comes in hops (`dsp.intake`), and each is watched for a leap in level (`dsp.onset`). Once something
sounds, its spectrum says which pitch it may be (`dsp.acquisition`); its partials are followed and fitted by a
settling course (`dsp.following`, `dsp.settling`) and, once they are those of a string (`dsp.acceptance`),
told of until they drown in the room. What has no phases to follow may still have a pitch
(`dsp.section_pitch`).

The work has a ceiling, whatever is heard: at most one fit is made in every second hop, in the others one look
or glimpse of two spectra, and all of it comes out of a budget (`dsp.work_budget`).

Constants marked as chosen, here and in the modules it uses, were chosen on recorded plucks (the takes a and b
of the bass, the first of the guitar), on `dsp.synthesis` with seeds below 4000, and, for what is no string,
on speech, music, knocks and noise of seeds below 4000. The benchmark reports on others.
"""

from dataclasses import replace

from dsp.acceptance import Judgement, drowns, judged
from dsp.acquisition import SAME_CENTS, Acquired, due, is_clear, longest_look_s, looked
from dsp.following import brought_up
from dsp.intake import Intake, check_range
from dsp.interference import (
    Ours,
    disturbed,
    is_neighbours,
    led_astray,
    loudness_db,
    new_stroke,
    runs,
    swelled,
)
from dsp.onset import FRAMES, heard, leap, no_frames, swells, without_pitch
from dsp.reading import Reading, Samples
from dsp.retuning import Turn
from dsp.section_pitch import (
    FIRST_GLIMPSE_S,
    Section,
    agreed,
    begin_section,
    contradicts,
    faded,
    glimpsed,
    promising,
    stands_out,
)
from dsp.sounding import Onset, Past, apart
from dsp.stages import Crowd, Rising, SoundingNote, is_section, overdue
from dsp.telling import note_reading, section_reading
from dsp.tracking import Followed, begin_tracking
from dsp.units import Hz
from dsp.work_budget import EXPECTING_ANEW, GLIMPSE, WorkBudget, fit_work

_FIT_EVERY = 2  # hops: a fit is made in every second hop at most, and a spectrum looked at in the others
_FIRST_GLIMPSES = 4  # after so many, a sounding in which they do not agree is glimpsed half as often,
_OFTEN_GLIMPSED_S = 0.35  # and any at this age
_READ_EVERY = 4  # hops: 25 readings a second
_OLD_S = 0.5  # age from which a string that is not being turned is read
_OLD_EVERY = 6  # hops, some 17 times a second
_YOUNG_S = 0.16  # age up to which a note is read as often as the work allows; also while it is turned
_YOUNG_PERIODS = 14.0  # and so many periods of the pitch, until it is believed
_NEXT_LEAP_S = 0.03  # a leap this soon after the last belongs to it
_SWELLED_S = 0.05  # a bow has sounded for about so long when its swelling is noticed
_NEWER_S = 0.06  # so long a note is not told of after something else leapt up


class PitchTracker:
    """Follows one string at a time through a stream of sound.

    Parameters
    ----------
    sample_rate_hz : 8000 to 192000
    lowest_hz, highest_hz : the range of pitches to read; what lies outside gets no reading

    Raises ValueError where the rate or the range cannot be used.
    """

    def __init__(self, sample_rate_hz: float, lowest_hz: float, highest_hz: float) -> None:
        check_range(sample_rate_hz, lowest_hz, highest_hz)
        self._lowest, self._highest = Hz(float(lowest_hz)), Hz(float(highest_hz))
        self._intake = Intake(float(sample_rate_hz), self._highest)
        self._frames = no_frames()
        self._note: SoundingNote | None = None
        self._crowd: Crowd | None = None
        self._rising: Rising | None = None
        self._ours: Ours | None = None
        self._plucks = 0
        self._budget = WorkBudget()

    def feed(self, samples: Samples) -> list[Reading]:
        """Take the next samples and give the readings they complete.

        Parameters
        ----------
        samples : mono, in [-1, 1], shape (n,) for any n; not written into

        Raises ValueError where they are not one row of numbers.
        """
        readings = [self._step() for _ in self._intake.hops_of(samples)]
        return [reading for reading in readings if reading is not None]

    def _step(self) -> Reading | None:
        """One hop."""
        past = self._intake.past
        sounding = self._note is not None or self._rising is not None
        self._frames = heard(self._frames, self._intake.hop, sounding=sounding)
        self._notice(past)
        return self._look(past) if self._intake.hops % _FIT_EVERY else self._fit(past)

    def _notice(self, past: Past) -> None:
        """See whether something begins to sound."""
        began = leap(self._frames)
        rising, note = self._rising, self._note
        if began is not None and (rising is None or rising.onset.age_s(past) > _NEXT_LEAP_S):
            hop = self._intake.hop_size
            start = past.count - hop + (began - 1) * hop // FRAMES
            ringing = self._intake.ringing(start)
            self._rising = Rising(Onset(max(start, 0), True, follows=note is not None, ringing=ringing))
            if note is not None:
                self._note = replace(note, undisturbed=disturbed(note.follow, note.undisturbed, past))
        elif rising is None and note is None and swells(self._frames):
            start = past.count - round(_SWELLED_S * past.rate_hz)
            self._rising = Rising(Onset(max(start, 0), plucked=False))

    def _look(self, past: Past) -> Reading | None:
        """Look at one spectrum at most."""
        rising, note = self._rising, self._note
        if rising is not None:
            if overdue(rising, past, self._lowest):
                self._give_up()
            elif due(rising.onset, rising.known, past) and self._may_look(rising.onset, past):
                self._acquire(rising, past)
                return None
            elif note is None and rising.onset.plucked:
                return self._glimpse(rising, past)
        elif (
            note is not None
            and due(note.follow.onset, note.known, past)
            and self._may_look(note.follow.onset, past)
        ):
            onset, pitch_hz = note.follow.onset, note.follow.frequency_hz
            known = looked(onset, note.known, past, (self._lowest, self._highest), pitch_hz)
            self._note = replace(note, known=known)
        elif self._crowd is not None and self._intake.hops % _READ_EVERY == 1:
            return self._reglimpse(self._crowd, past)
        return None

    def _may_look(self, onset: Onset, past: Past) -> bool:
        """Whether the budget has a look left for this sounding; it is taken if so."""
        young = onset.age_s(past) < longest_look_s(self._lowest)
        return self._budget.allows_look(self._intake.time_s, young=young)

    def _brought_up(self, follow: Followed, turn: Turn, past: Past) -> tuple[Followed, Turn]:
        after, turn = brought_up(follow, turn, past)
        self._budget.spend(fit_work(follow, after))
        return after, turn

    def _glimpsed(self, section: Section, past: Past) -> Section | None:
        """The section after another glimpse; None where the budget has none left."""
        if not self._budget.allows_hope(self._intake.time_s):
            return None
        self._budget.spend(GLIMPSE)
        return glimpsed(section, past, self._lowest, self._highest)

    def _fit(self, past: Past) -> Reading | None:
        """Make one fit at most: of what rises, else of what is told of."""
        rising, note = self._rising, self._note
        if rising is not None and rising.follow is not None:
            age_s = rising.onset.age_s(past)
            often = age_s < max(_YOUNG_S, _YOUNG_PERIODS / rising.follow.base.frequency_hz)
            seldom = self._intake.hops % _READ_EVERY and not often
            may = not seldom and self._budget.allows(self._intake.time_s, young=often)
            return self._rise(rising, past) if may else None
        return None if note is None else self._read(note, past)

    # -- what rises

    def _give_up(self) -> None:
        self._rising = None
        self._frames = without_pitch(self._frames)

    def _acquire(self, rising: Rising, past: Past) -> None:
        """Seek a pitch for what rises."""
        pitch_hz = None if rising.follow is None else rising.follow.frequency_hz
        known = looked(rising.onset, rising.known, past, (self._lowest, self._highest), pitch_hz)
        rising = replace(rising, known=known)
        guess, old = known.coarse, rising.follow
        if guess is not None and (old is None or apart(guess.frequency_hz, old.guess_hz) > SAME_CENTS):
            follow = begin_tracking(rising.onset, guess, past)
            self._budget.spend(EXPECTING_ANEW)
            rising = replace(rising, follow=follow, turn=Turn(), judgement=Judgement())
        self._rising = rising

    def _rise(self, rising: Rising, past: Past) -> Reading | None:
        """Fit what rises, and tell of it once it is believed."""
        assert rising.follow is not None
        follow = replace(rising.follow, bowed=rising.judgement.bowed)
        follow, turn = self._brought_up(follow, rising.turn, past)
        judgement = judged(rising.judgement, follow, rising.known, turn, past)
        self._rising = rising = replace(rising, follow=follow, turn=turn, judgement=judgement)
        frequency = follow.frequency_hz
        if not judgement.believed or frequency is None or is_section(rising, self._crowd):
            return None
        if rising.section is not None and contradicts(rising.section, frequency):
            return None
        loud = loudness_db(follow)
        if is_neighbours(rising.onset, frequency, loud, self._ours, past.rate_hz):
            self._give_up()
            return None
        self._rising = None
        self._ours = Ours(rising.onset.start, frequency, loud)
        follow = replace(follow, bowed=judgement.bowed)
        return self._begin(follow, rising.known, turn, judgement, past)

    def _begin(
        self, follow: Followed, known: Acquired, turn: Turn, judgement: Judgement, past: Past
    ) -> Reading | None:
        crowd = self._crowd
        if crowd is None or crowd.section.onset.start != follow.onset.start:
            self._plucks += 1
        self._crowd = None
        loudest = self._intake.loudest_dbfs(follow.onset)
        self._note = note = SoundingNote(self._plucks, follow, known, turn, judgement, loudest)
        return self._reading(note, past)

    # -- what is told of

    def _read(self, note: SoundingNote, past: Past) -> Reading | None:
        often = note.follow.onset.age_s(past) < _YOUNG_S or note.turn.suspected
        old = note.follow.onset.age_s(past) > _OLD_S
        if not often and self._intake.hops % (_OLD_EVERY if old else _READ_EVERY):
            return None
        if self._rising is not None and self._rising.onset.age_s(past) < _NEWER_S:
            return None  # what just leapt up may be another string: better wait
        if not self._budget.allows(self._intake.time_s, young=often):
            return None
        follow, turn = self._brought_up(note.follow, note.turn, past)
        judgement = judged(note.judgement, follow, note.known, turn, past)
        follow = replace(follow, bowed=judgement.bowed)
        loudest = max(note.loudest_dbfs, self._intake.loudest_dbfs(follow.onset))
        note = replace(note, follow=follow, turn=turn, judgement=judgement, loudest_dbfs=loudest)
        if (
            swelled(follow) and follow.onset.age_s(past) > _OLD_S
        ):  # a young note's body and swings may still grow
            note = replace(note, undisturbed=disturbed(follow, note.undisturbed, past))
        stroke = new_stroke(follow)
        if stroke is not None:
            self._note = note
            stroke, turn = self._brought_up(stroke, Turn(), past)
            return self._begin(stroke, note.known, turn, judgement, past)
        gone = drowns(judgement) or runs(turn) or led_astray(follow, note.undisturbed, past)
        self._note = None if gone else note
        return None if gone else self._reading(note, past)

    def _reading(self, note: SoundingNote, past: Past) -> Reading | None:
        return self._within(note_reading(note, past, self._intake.time_s))

    def _within(self, reading: Reading | None) -> Reading | None:
        """A reading, if it lies in the range of pitches to read."""
        inside = reading is not None and self._lowest <= reading.frequency_hz <= self._highest
        return reading if inside else None

    # -- sections

    def _glimpse(self, rising: Rising, past: Past) -> Reading | None:
        """Look for the pitch of what may have no phases to follow."""
        age, due = rising.onset.age_s(past), self._intake.hops % _READ_EVERY == 1
        if age < FIRST_GLIMPSE_S:
            return None
        old = rising.section or begin_section(rising.onset, past)
        self._rising = rising = replace(rising, section=old)
        often = age < _OFTEN_GLIMPSED_S and (len(old.glimpses) < _FIRST_GLIMPSES or promising(old))
        if not (due or often) or not stands_out(old, past):
            return None
        section = self._glimpsed(old, past)
        if section is None:
            return None
        self._rising = replace(rising, section=section)
        if self._crowd is not None and self._crowd.section.onset.start == rising.onset.start:
            return self._tell_crowd(replace(self._crowd, section=section), past)
        if not agreed(section) or self._denied(rising, section):
            return None
        self._plucks += 1
        loudest = self._intake.loudest_dbfs(rising.onset)
        return self._tell_crowd(Crowd(self._plucks, section, loudest), past)

    def _denied(self, rising: Rising, section: Section) -> bool:
        """Whether longer looks clearly agree on another pitch: glimpses are short for the lowest strings."""
        guess = rising.known.coarse
        return guess is not None and is_clear(rising.known) and contradicts(section, guess.frequency_hz)

    def _reglimpse(self, crowd: Crowd, past: Past) -> Reading | None:
        section = self._glimpsed(crowd.section, past)
        return None if section is None else self._tell_crowd(replace(crowd, section=section), past)

    def _tell_crowd(self, crowd: Crowd, past: Past) -> Reading | None:
        self._crowd = None if faded(crowd.section) else crowd
        if self._crowd is None:
            return None
        return self._within(section_reading(crowd, past, self._intake.time_s))
