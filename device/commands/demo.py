"""`wallpeg demo` runs a simulated box on any computer.

Without more it shows a simulated pupil who tunes a simulated instrument in front of the real signal path,
coach and screen. `--microphone` and `--wav` put real sound in the pupil's place.
"""

import argparse
from dataclasses import replace
from pathlib import Path

from demo.journal import closing_table
from demo.mechanics.starts import Start
from demo.parts import KeptPanel, RecordedMicrophone, SteppedClock, WallClock
from demo.pictures import check_animation, check_folder, save_animation, save_pictures
from demo.players.characters import CHARACTERS
from demo.practice_players import MAKES_MISTAKES, PRACTICE_PLAYERS
from demo.scenario import PUPILS, Pupil
from demo.show import Show, Stage, practised, simulated, stage_of_sound
from device.commands.options import add_settings, given, leave, settings_of
from device.config.settings import Settings
from device.errors import UsageError
from device.lesson.state import Phase
from device.ports import Clock
from device.practice.table import PRACTICES
from device.runtime.loop_interface import Snapshot
from dsp import Seconds

END_SHOWN_S = Seconds(3.0)


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments of `wallpeg demo`."""
    source = parser.add_mutually_exclusive_group()
    source.add_argument(
        "--microphone",
        nargs="?",
        const="",
        metavar="NAME",
        help="listen to this computer's microphone, the usual one or the one with NAME in its name",
    )
    source.add_argument("--wav", type=Path, metavar="FILE", help="play a recording to the box")
    source.add_argument(
        "--pupil", choices=PUPILS, default="wanda", help="who comes to the wall (usual: wanda)"
    )
    parser.add_argument(
        "--practice",
        choices=[practice.name for practice in PRACTICES],
        help="a pupil whose strings are right reads notes or counts bars",
    )
    parser.add_argument("--start", choices=[s.value for s in Start], help="how the instrument comes")
    parser.add_argument("--player", choices=(*CHARACTERS, *PRACTICE_PLAYERS), help="how the pupil acts")
    parser.add_argument("--fast", action="store_true", help="as fast as the processor allows")
    parser.add_argument("--seed", type=int, default=1, metavar="N", help="another instrument (usual: 1)")
    parser.add_argument("--pictures", type=Path, metavar="DIR", help="keep every picture of the panel as PNG")
    parser.add_argument("--animation", type=Path, metavar="FILE", help="keep them as one moving .gif or .png")
    add_settings(parser)


def main(arguments: argparse.Namespace) -> int:
    """Run the demo; 0 when it came to its end, 130 after ctrl-C, 128 and its number after another signal."""
    if arguments.animation is not None:
        check_animation(arguments.animation)
    if arguments.pictures is not None:
        check_folder(arguments.pictures)
    if arguments.fast and arguments.microphone is not None:
        raise UsageError("a live microphone cannot be heard faster than it sounds: leave out --fast")
    _check_player(arguments)
    pupil = _pupil(arguments)
    settings = settings_of(arguments)
    if pupil.pegs and not _real_sound(arguments) and not given(arguments, "pegs_by_grown_up"):
        settings = replace(settings, pegs_by_grown_up=False)
    clock: Clock = SteppedClock() if arguments.fast else WallClock()
    show = Show(clock, settings, tell_plucks=_real_sound(arguments))
    rows = show.run(_stage(arguments, show, clock, settings, pupil))
    _keep(arguments, show.kept)
    if rows:
        print(closing_table(rows))
    if arguments.microphone is not None:
        leave(show.status)
    return show.status


def _check_player(arguments: argparse.Namespace) -> None:
    """A tuning pupil has another character than one who practises."""
    known = CHARACTERS if arguments.practice is None else PRACTICE_PLAYERS
    if arguments.player is not None and arguments.player not in known:
        raise UsageError(f"--player {arguments.player} does not go with this demo; try {', '.join(known)}")
    if arguments.practice is not None and _real_sound(arguments):
        raise UsageError("--practice brings a simulated pupil: leave out --microphone and --wav")


def _real_sound(arguments: argparse.Namespace) -> bool:
    return arguments.microphone is not None or arguments.wav is not None


def _pupil(arguments: argparse.Namespace) -> Pupil:
    """The pupil asked for, with what the flags change."""
    pupil = PUPILS[arguments.pupil]
    start = Start(arguments.start) if arguments.start else pupil.start
    return replace(pupil, start=start, character=arguments.player or pupil.character)


def _stage(
    arguments: argparse.Namespace, show: Show, clock: Clock, settings: Settings, pupil: Pupil
) -> Stage:
    if arguments.microphone is not None:
        from device.parts.microphone import SoundCardMicrophone  # noqa: PLC0415 - PortAudio, only here

        stage = stage_of_sound(SoundCardMicrophone(arguments.microphone), clock, _finished_and_seen)
        print("Pluck an open string; ctrl-C ends.", flush=True)
        return stage
    if arguments.wav is not None:
        return _recorded(arguments.wav, clock)
    if arguments.practice is not None:
        print("Quince Lane, an invented studio: Lioba's strings are right, and the lesson goes on.")
        player = PRACTICE_PLAYERS.get(arguments.player, MAKES_MISTAKES)
        return practised(
            show, clock, settings, practice=arguments.practice, player=player, seed=arguments.seed
        )
    stage = simulated(show, clock, settings, pupil, arguments.seed)
    print(f"Quince Lane, an invented studio: {pupil.name} {pupil.says}.")
    return stage


def _recorded(path: Path, clock: Clock) -> Stage:
    from device.parts.recording import open_recording  # noqa: PLC0415 - soundfile, only here

    recording = open_recording(path)
    microphone = RecordedMicrophone(recording.blocks(), recording.sample_rate_hz, clock)
    return stage_of_sound(microphone, clock, lambda _moment: microphone.over)


def _finished_and_seen(snapshot: Snapshot) -> bool:
    coach = snapshot.coach
    return coach.phase is Phase.FINISHED and snapshot.at - coach.since >= END_SHOWN_S


def _keep(arguments: argparse.Namespace, kept: KeptPanel) -> None:
    if arguments.pictures is not None:
        count = save_pictures(kept.shown, arguments.pictures)
        print(f"{count} pictures are in {arguments.pictures}")
    if arguments.animation is not None:
        save_animation(kept.shown, arguments.animation)
