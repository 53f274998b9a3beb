"""Hours of sound in which nobody plucks an open string: what the tracker claims nevertheless.

Sound is made in pieces and fed to one tracker, so an hour takes the memory of a piece.
"""

from collections.abc import Callable, Iterator
from functools import partial

import numpy as np

from dsp import Instrument, PitchTracker, Samples
from dsp.synthesis import pink_noise, white_noise
from tests import sound_fonts
from tests.bench import rooms
from tests.bench.claims import CLAIM_COLUMNS, SURE_CENTS, Claims
from tests.bench.common import BLOCK, FIRST_SEED, RATE, Sizes, wall_range
from tests.bench.report import Table

PIECE_S = 30.0
OPEN_KEYS = {55, 62, 69, 76}  # G3 D4 A4 E5
PROGRAMS = {
    0: "piano",
    24: "guitar",
    40: "violin",
    48: "strings",
    56: "trumpet",
    68: "oboe",
    73: "flute",
    52: "choir",
}
_WORDS = """
and but so then now where when never always please slowly quickly again once more listen look wait
bow string peg bridge rosin shoulder chin elbow finger wrist stand chair window door page line bar
Monday Tuesday morning evening lesson concert sister teacher friend apple bread water garden river
play hold press lift draw stop start count sing hear find bring open close carry remember forget red
green little big quiet loud warm cold happy early late seven eleven twenty hundred one two three
"""
WORDS = _WORDS.split()


def speech_pieces(seed: int, _seconds: float) -> Iterator[Samples]:
    rng = np.random.default_rng((seed, 21))
    while True:
        words = rng.choice(WORDS, int(rng.integers(4, 14)))
        voice = rooms.VOICES[int(rng.integers(len(rooms.VOICES)))]
        sentence = rooms.spoken(
            " ".join(words), voice, int(rng.integers(20, 95)), int(rng.integers(110, 200))
        )
        gap = np.zeros(round(float(rng.uniform(0.1, 0.8)) * RATE), np.float32)
        yield np.concatenate([np.float32(rng.uniform(0.1, 1.0)) * sentence, gap])


def music_pieces(seed: int, seconds: float, with_open_strings: bool) -> Iterator[Samples]:
    """Random melodies with chords, played in turn by eight General MIDI instruments of both fonts."""
    rng = np.random.default_rng((seed, 22))
    keys = [k for k in range(45, 89) if with_open_strings or k not in OPEN_KEYS]
    fonts = list(sound_fonts.FONTS.values())
    programs = list(PROGRAMS)
    length_s = float(np.clip(seconds / (2 * len(programs)), 10.0, 225.0))
    for piece in range(1 << 30):
        notes: list[sound_fonts.Note] = []
        moment = 0.0
        while moment < length_s - 2.0:
            length = float(rng.choice([0.15, 0.25, 0.5, 1.0, 1.5]))
            chord = rng.choice(keys, int(rng.choice([1, 1, 1, 2, 3])), replace=False)
            notes += [(moment, length, int(key), int(rng.integers(40, 120)), 0) for key in chord]
            moment += length + float(rng.choice([0.0, 0.0, 0.2]))
        program = programs[piece % len(programs)]
        yield sound_fonts.rendered(notes, fonts[piece // len(programs) % 2], program, length_s)


def knock_pieces(seed: int, _seconds: float) -> Iterator[Samples]:
    for piece in range(1 << 30):
        size = round(PIECE_S * RATE)
        hum = rooms.hum(50.0 if piece % 2 else 60.0, size, seed)
        yield np.asarray(rooms.knocks(size, seed + piece) + 0.003 * hum, np.float32)


def silent_pieces(seed: int, _seconds: float) -> Iterator[Samples]:
    """A quiet room at -75 dBFS; every fourth piece is digital silence."""
    for piece in range(1 << 30):
        size = round(PIECE_S * RATE)
        level = 0.0 if piece % 4 == 3 else 10.0 ** (-75.0 / 20.0)
        yield np.float32(level) * white_noise(size, seed + piece)


def noise_pieces(seed: int, _seconds: float) -> Iterator[Samples]:
    """White noise at -25 dBFS, and pink."""
    for piece in range(1 << 30):
        make = pink_noise if piece % 2 else white_noise
        yield np.float32(0.056) * make(round(PIECE_S * RATE), seed + piece)


SOUNDS: dict[str, Callable[[int, float], Iterator[Samples]]] = {
    "speech": speech_pieces,
    "music without open strings": partial(music_pieces, with_open_strings=False),
    "knocks and hum": knock_pieces,
    "silence": silent_pieces,
    "white and pink noise": noise_pieces,
    "music with open strings": partial(music_pieces, with_open_strings=True),
}


def claims(pieces: Iterator[Samples], seconds: float) -> Claims:
    """Everything the tracker says in `seconds` of sound."""
    tracker, total = PitchTracker(RATE, *wall_range(Instrument.VIOLIN)), Claims()
    while total.seconds < seconds:
        piece = next(pieces)
        total.seconds += piece.size / RATE
        for start in range(0, piece.size, BLOCK):
            for reading in tracker.feed(piece[start : start + BLOCK]):
                total.add(reading)
    return total


def false_readings(sizes: Sizes) -> list[Table]:
    rows: list[tuple[object, ...]] = []
    seconds = 3600.0 * sizes.scale
    for label, pieces in SOUNDS.items():
        if (label == "speech" and rooms.missing()) or ("music" in label and sound_fonts.missing()):
            sizes.progress(f"false readings: {label} left out, {rooms.missing() or sound_fonts.missing()}")
            continue
        sizes.progress(f"false readings: {label}, {seconds:.0f} s")
        rows.append((label, *claims(pieces(FIRST_SEED, seconds), seconds).cells()))
    goal = (
        "no in tune, at most one sounding that names a string, each hour (music with open strings: reported)"
        f" (sure: octave_doubt < 0.5 and std_error < {SURE_CENTS:.0f} cents)"
    )
    return [
        Table("false_readings", "False readings by the hour", goal, ("sound", *CLAIM_COLUMNS), tuple(rows))
    ]
