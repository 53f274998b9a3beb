"""Sounds of a room in which nobody plucks a string: talk, singing, hands, furniture, other people's music.

Nothing here chose a constant: voices, languages, pitches and speeds are others than those of
`tests/bench/rooms.py`. Every maker yields pieces of sound without end, each with a name by which it can be
made again. Talk is by Debian's espeak-ng, music by fluidsynth; the rest is made here.

Vowels: the first three formants of children's vowels, after the averages of G. E. Peterson and H. L. Barney,
Control methods used in a study of the vowels, 1952, figures from memory. Vibrato of 5 to 7 Hz and of 30 to
120 cents to either side: J. Sundberg, The Science of the Singing Voice, 1987, from memory.
"""

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np
from scipy.signal import lfilter

from dsp import Samples
from dsp.synthesis import pink_noise
from tests import sound_fonts
from tests.bench import rooms
from tests.bench.common import RATE

Piece = tuple[str, Samples]
FLOOR_DBFS = -70.0  # of the room's own noise; chosen

TALK = {  # voice of espeak-ng: lines of our own; numbers are spoken between them
    "nl+f5": ("Goedemorgen, ga maar zitten.", "Waar ligt mijn potlood?", "Nog een keer, maar zachter."),
    "sv+m7": ("Var har du lagt boken?", "Det regnar ute idag.", "Kom in och ta av dig skorna."),
    "pl+f1": ("Gdzie jest mama?", "Dzisiaj gramy bardzo cicho.", "Prosze usiasc przy oknie."),
    "pt-br+m4": ("Onde fica a janela?", "Hoje vamos tocar devagar.", "Minha tia chega amanha."),
    "fi+f3": ("Missa on minun reppuni?", "Ulkona sataa vetta.", "Aloitetaan uudestaan alusta."),
    "tr+klatt3": ("Kapiyi kapatir misin?", "Bugun hava cok guzel.", "Bir daha, ama daha yavas."),
    "cs+grandma": ("Kde je moje tuzka?", "Dneska hrajeme potichu.", "Otevri prosim okno."),
    "hu+m8": ("Hol van a ceruzam?", "Ma lassan jatszunk.", "Nyisd ki az ablakot."),
    "da+belinda": ("Hvor er min taske?", "Vi spiller langsomt i dag.", "Luk venligst doren."),
    "ro+edward": ("Unde este creionul meu?", "Astazi cantam incet.", "Deschide fereastra, te rog."),
}
VOWELS = {  # formants in Hz of a child's vowels, and their widths
    "i": ((370.0, 3200.0, 3730.0), (60.0, 100.0, 120.0)),
    "e": ((690.0, 2610.0, 3570.0), (70.0, 100.0, 120.0)),
    "a": ((1030.0, 1370.0, 3170.0), (90.0, 110.0, 130.0)),
    "o": ((680.0, 1060.0, 3180.0), (80.0, 90.0, 120.0)),
    "u": ((430.0, 1170.0, 3260.0), (60.0, 90.0, 120.0)),
}
OPEN_KEYS = (55, 62, 69, 76)  # G3 D4 A4 E5, by MIDI number
CHOIR = (52, 53)  # General MIDI programs, counted from 0: "Choir Aahs", "Voice Oohs"
BAND = ((0, 48, 40), (24, 32, 73), (25, 42, 56), (46, 71, 105), (6, 60, 45))  # programs that play together


def talk(seed: int) -> Iterator[Piece]:
    """Ten voices in ten languages, low to high and slow to fast, with gaps."""
    rng = np.random.default_rng((seed, 61))
    voices = list(TALK)
    for number in range(1 << 30):
        voice = voices[number % len(voices)]
        lines = rng.permutation(TALK[voice])[: int(rng.integers(1, 4))]
        text = " ".join(f"{line} {int(rng.integers(1, 9999))}." for line in lines)
        pitch, speed = int(rng.integers(0, 100)), int(rng.integers(80, 300))
        spoken = np.float32(rng.uniform(0.1, 1.0)) * rooms.spoken(text, voice, pitch, speed)
        gap = np.zeros(round(float(rng.uniform(0.05, 1.5)) * RATE), np.float32)
        yield f"{voice} pitch {pitch} speed {speed}: {text}", np.concatenate([spoken, gap])


def singing(seed: int, *, on_strings: bool) -> Iterator[Piece]:
    """A child sings held vowels, at any pitch or on the open strings' pitches."""
    rng = np.random.default_rng((seed, 62))
    for _ in range(1 << 30):
        key = float(rng.choice(OPEN_KEYS)) if on_strings else float(rng.uniform(53.0, 78.0))
        vowel = str(rng.choice(list(VOWELS)))
        note = sung(440.0 * 2.0 ** ((key - 69.0) / 12.0), vowel, float(rng.uniform(0.4, 2.5)), rng)
        gap = np.zeros(round(float(rng.choice([0.0, 0.1, 0.6])) * RATE), np.float32)
        yield f"{vowel} at key {key:.2f}", np.concatenate([np.float32(rng.uniform(0.1, 0.6)) * note, gap])


def sung(frequency_hz: float, vowel: str, length_s: float, rng: np.random.Generator) -> Samples:
    """One held vowel: harmonics with vibrato, breath and a slide into the pitch, through the formants."""
    time = np.arange(round(length_s * RATE)) / RATE
    depth, rate, late = rng.uniform(0.0, 80.0), rng.uniform(5.0, 7.0), rng.uniform(0.1, 0.5)
    course = depth * np.clip((time - late) / 0.3, 0.0, 1.0) * np.sin(2.0 * np.pi * rate * time)
    course += rng.uniform(-150.0, 30.0) * np.exp(-time / rng.uniform(0.03, 0.15))
    course += rng.uniform(2.0, 6.0) * np.cumsum(rng.standard_normal(time.size)) / np.sqrt(RATE)
    phase = 2.0 * np.pi * np.cumsum(frequency_hz * 2.0 ** (course / 1200.0)) / RATE
    tilt = rng.uniform(1.2, 2.0)
    count = int(min(40, 0.4 * RATE / frequency_hz))
    wave = np.sum([np.sin(k * phase) / k**tilt for k in range(1, count + 1)], axis=0)
    wave += rng.uniform(0.005, 0.05) * rng.standard_normal(time.size)
    out = sum(_resonance(wave, f, w) for f, w in zip(*VOWELS[vowel], strict=True))
    rise, fall = rng.uniform(0.02, 0.15), rng.uniform(0.05, 0.2)
    envelope = np.minimum(1.0, time / rise) * np.minimum(1.0, (length_s - time) / fall)
    return np.asarray(out / np.max(np.abs(out)) * envelope, np.float32)


def choir(seed: int) -> Iterator[Piece]:
    """Both fonts' choirs in three voices, on any keys."""
    rng = np.random.default_rng((seed, 63))
    fonts = list(sound_fonts.FONTS.values())
    for number in range(1 << 30):
        notes = _notes(rng, 30.0, (48, 80), (0.5, 1.0, 2.0), 3)
        font, program = fonts[number % 2], CHOIR[number // 2 % 2]
        yield f"{font.stem} {program}, piece {number}", sound_fonts.rendered(notes, font, program, 32.0)


def music(seed: int) -> Iterator[Piece]:
    """Three instruments at a time, each in its own short chords, on all keys."""
    rng = np.random.default_rng((seed, 64))
    fonts = list(sound_fonts.FONTS.values())
    for number in range(1 << 30):
        band, font = BAND[number // 2 % len(BAND)], fonts[number % 2]
        parts = [
            sound_fonts.rendered(_notes(rng, 30.0, (40, 88), (0.12, 0.25, 0.5, 1.0), 3), font, program, 32.0)
            for program in band
        ]
        yield f"{font.stem} {band}, piece {number}", np.asarray(np.sum(parts, axis=0) / 2.0, np.float32)


def claps(seed: int) -> Iterator[Piece]:
    """One to five people clap, in time or not, in a small room."""
    rng = np.random.default_rng((seed, 65))
    for number in range(1 << 30):
        sound = np.zeros(round(20.0 * RATE))
        for _ in range(int(rng.integers(1, 6))):
            step, moment = rng.uniform(0.18, 0.9), rng.uniform(0.0, 0.5)
            bright, width = rng.uniform(700.0, 2600.0), rng.uniform(300.0, 1500.0)  # cupped or flat hands
            while moment < 19.5:
                burst = rng.standard_normal(round(0.12 * RATE)) * _dying(0.12, rng.uniform(0.004, 0.015))
                _add(sound, moment, rng.uniform(0.1, 0.5) * _resonance(burst, bright, width))
                moment += step * rng.uniform(0.93, 1.07)
        yield f"claps {number}", _at_most(rooms.reverberant(sound.astype(np.float32), seed + number), 0.8)


def tapping(seed: int) -> Iterator[Piece]:
    """Fingers and pencils on tables, stands, boxes and an instrument's belly: knocks with a short ring."""
    rng = np.random.default_rng((seed, 66))
    for number in range(1 << 30):
        sound = np.zeros(round(20.0 * RATE))
        rings = rng.uniform(70.0, 1800.0, int(rng.integers(1, 7)))  # of what is tapped on
        moment, step = 0.2, rng.uniform(0.1, 0.8)
        while moment < 19.4:
            knock = rng.standard_normal(round(0.5 * RATE)) * _dying(0.5, rng.uniform(0.001, 0.004))
            body = sum(_resonance(knock, ring, rng.uniform(3.0, 40.0)) for ring in rings)
            _add(sound, moment, rng.uniform(0.05, 0.4) * (0.3 * knock + body / len(rings)))
            moment += step * rng.uniform(0.7, 1.4)
        yield f"tapping {number}, rings {np.round(rings)}", _at_most(sound, rng.uniform(0.1, 0.8))


def chairs(seed: int) -> Iterator[Piece]:
    """Chairs drawn over the floor, door hinges: stick and slip, with pitches that slide and break off."""
    rng = np.random.default_rng((seed, 67))
    for number in range(1 << 30):
        sound, moment = np.zeros(round(20.0 * RATE)), 0.3
        while moment < 18.0:
            _add(sound, moment, rng.uniform(0.1, 0.6) * _scrape(float(rng.uniform(0.15, 1.3)), rng))
            moment += rng.uniform(0.4, 2.5)
        yield f"chairs {number}", _at_most(rooms.reverberant(sound.astype(np.float32), seed + number), 0.8)


def _scrape(length_s: float, rng: np.random.Generator) -> Samples:
    time = np.arange(round(length_s * RATE)) / RATE
    course = np.cumsum(rng.standard_normal(time.size)) / np.sqrt(RATE) * rng.uniform(50.0, 600.0)
    course += rng.uniform(-800.0, 800.0) * time / length_s
    phase = np.cumsum(rng.uniform(80.0, 1100.0) * 2.0 ** (course / 1200.0)) / RATE
    saw = 2.0 * (phase % 1.0) - 1.0
    saw += rng.uniform(0.05, 0.8) * rng.standard_normal(time.size)
    body = sum(_resonance(saw, rng.uniform(150.0, 3000.0), rng.uniform(30.0, 200.0)) for _ in range(4))
    ends = np.minimum(1.0, np.minimum(time / 0.01, (length_s - time) / 0.02))
    return np.asarray(body / np.max(np.abs(body)) * ends, np.float32)


def _notes(
    rng: np.random.Generator, length_s: float, keys: tuple[int, int], lengths: tuple[float, ...], most: int
) -> list[sound_fonts.Note]:
    notes: list[sound_fonts.Note] = []
    moment = 0.0
    while moment < length_s:
        length = float(rng.choice(lengths))
        chord = rng.choice(np.arange(*keys), int(rng.integers(1, most + 1)), replace=False)
        notes += [(moment, length, int(key), int(rng.integers(40, 120)), 0) for key in chord]
        moment += length * float(rng.choice([1.0, 1.0, 1.3]))
    return notes


def _resonance(wave: Samples, frequency_hz: float, width_hz: float) -> Samples:
    """Two poles at a frequency, so wide at half power, with gain 1 at the peak (nearly)."""
    radius = np.exp(-np.pi * width_hz / RATE)
    turn = 2.0 * radius * np.cos(2.0 * np.pi * frequency_hz / RATE)
    out = lfilter([1.0 - radius, 0.0, radius - 1.0], [1.0, -turn, radius**2], wave)
    return np.asarray(out, np.float32)


def _dying(length_s: float, by_s: float) -> Samples:
    return np.asarray(np.exp(-np.arange(round(length_s * RATE)) / (by_s * RATE)), np.float32)


def _add(sound: Samples, moment_s: float, part: Samples) -> None:
    first = round(moment_s * RATE)
    room = max(0, sound.size - first)
    sound[first : first + part.size] += part[:room]


def _at_most(sound: Samples, peak: float) -> Samples:
    return np.asarray(sound * (peak / np.max(np.abs(sound))), np.float32)


SOUNDS: dict[str, Callable[[int], Iterator[Piece]]] = {
    "talk, ten voices and languages": talk,
    "a child sings, any pitch": partial(singing, on_strings=False),
    "a child sings the open strings": partial(singing, on_strings=True),
    "choirs of two fonts": choir,
    "three instruments at a time": music,
    "claps": claps,
    "tapping on things": tapping,
    "chairs and hinges": chairs,
}


def floor(size: int, seed: int) -> Samples:
    """The room's own noise under a piece."""
    noise = pink_noise(size, seed)
    return np.asarray(noise * (10.0 ** (FLOOR_DBFS / 20.0) / np.std(noise)), np.float32)
