"""`wallpeg check` tries the parts of a built box one by one and says in plain sentences what it found.

The service holds the parts while it runs, so it is stopped for the trials (after asking, or with
--yes) and started again, whatever happens. Nothing is asked where nobody is at a terminal.
"""

import argparse
from collections.abc import Iterator
from pathlib import Path

from device.commands.board_report import report, service_state, write_report
from device.commands.delay_trial import try_delay
from device.commands.microphone_trial import try_microphone
from device.commands.options import leave
from device.commands.program_trial import program_tried, version_finding
from device.commands.run import display_of
from device.commands.service import Service
from device.commands.settings_file import LoadedSettings, load_settings, state_folder
from device.commands.trials import Bench, Finding, Person, bus_finding, try_buttons, try_panel, try_store
from device.config.hardware import Hardware
from device.config.settings import Settings
from device.errors import PartError, UsageError
from device.instrument.refusals import refusals
from device.parts.buttons import GpioButtons, lgpio_factory
from device.parts.clock import MonotonicClock
from device.parts.microphone import SoundCardMicrophone
from device.parts.sound_library import names
from device.parts.speaker import SoundCardSpeaker
from device.parts.store import Store
from dsp import PitchTracker

SERVICE_STATE = Path("/var/lib/wallpeg")  # the service's StateDirectory


def configure(parser: argparse.ArgumentParser) -> None:
    """Add the arguments."""
    parser.add_argument("--config", metavar="FILE", type=Path, help="the settings file, as for `wallpeg run`")
    parser.add_argument("--state", metavar="DIR", type=Path, help="where changed settings are kept")
    parser.add_argument("--yes", action="store_true", help="stop the service without asking")
    parser.add_argument("--no-parts", action="store_true", help="try the program alone, and touch no part")
    parser.add_argument("--report", metavar="FILE", type=Path, help="write the figures to a new text file")
    parser.add_argument("--json", action="store_true", help="one JSON object a line")


def main(arguments: argparse.Namespace) -> int:
    """Try everything; 0 when nothing is bad."""
    if arguments.no_parts:
        return _without_parts(arguments)
    if arguments.report is not None and arguments.report.exists():
        raise UsageError(f"--report {arguments.report} is there already; name a file that is not")
    person, service = Person(), Service()
    folder = arguments.state or (SERVICE_STATE if SERVICE_STATE.exists() else state_folder())
    settings = load_settings(arguments.config, Store(folder / "settings.toml"), refusals)
    before, findings = service_state(), list[Finding]()
    for finding in checked(settings, folder, service, person, arguments.yes):
        print(finding.line(arguments.json), flush=True)
        findings.append(finding)
    if arguments.report is not None:
        write_report(arguments.report, report(findings, before))
        person.tell(f"wrote {arguments.report}")
    status = int(any(finding.works is False for finding in findings))
    leave(status)
    return status


def _without_parts(arguments: argparse.Namespace) -> int:
    """Try the program alone; nothing is read or written."""
    bad = False
    for finding in program_tried(Settings()):
        print(finding.line(arguments.json), flush=True)
        bad = bad or finding.works is False
    return 1 if bad else 0


def checked(
    settings: LoadedSettings, folder: Path, service: Service, person: Person, agreed: bool
) -> Iterator[Finding]:
    """Everything, the service's own state first; the parts only while it does not hold them."""
    yield version_finding()
    yield settings_finding(settings)
    yield service.finding()
    yield try_store(folder)
    yield bus_finding(settings.hardware.panel.i2c_bus)
    if not service.runs:
        yield from parts_tried(settings, Bench(MonotonicClock(), person))
        return
    if not (agreed or person.agrees("The service holds the parts. Stop it for the check?")):
        yield Finding("parts", None, "the service holds them; --yes stops it for the check")
        return
    try:
        if service.stop():
            yield from parts_tried(settings, Bench(MonotonicClock(), person))
        else:
            yield Finding("parts", False, "the service cannot be stopped; try again with sudo")
    finally:
        again = service.start()
    yield Finding("restart", again, "the service runs again" if again else "the service does not start again")


def settings_finding(settings: LoadedSettings) -> Finding:
    """Which file holds, and what was refused in it."""
    if settings.refusals:
        return Finding("file", False, " / ".join(settings.refusals))
    place = settings.path or "no settings file; everything is as usual"
    return Finding("file", True, str(place))


def sound_finding() -> Finding:
    """By which names microphones and loudspeakers can be chosen."""
    try:
        inputs, outputs = names()
    except PartError as why:
        return Finding("sound", False, str(why))
    said = [f'"{name}"' for name in inputs], [f'"{name}"' for name in outputs]
    return Finding(
        "sound", bool(inputs), f"microphones: {_listed(said[0])}; loudspeakers: {_listed(said[1])}"
    )


def _listed(words: list[str]) -> str:
    return ", ".join(words) or "none"


def parts_tried(settings: LoadedSettings, bench: Bench) -> Iterator[Finding]:
    """The microphone, how late the loudspeaker is, the panel and the buttons."""
    hardware = settings.hardware
    yield sound_finding()
    lowest, highest = settings.chosen.settings.tracking_range
    yield from try_microphone(
        bench, lambda: _microphone(hardware), lambda rate: PitchTracker(rate, lowest, highest)
    )
    speaker = hardware.speaker
    yield try_delay(
        bench,
        lambda: _microphone(hardware),
        (lambda: SoundCardSpeaker(speaker.name)) if speaker.fitted else None,
        settings.chosen.settings.tone_dbfs,
    )
    yield try_panel(bench, lambda: display_of(hardware.panel))
    pins = hardware.buttons.pins
    yield try_buttons(bench, lambda: GpioButtons(pins, lgpio_factory()), pins)


def _microphone(hardware: Hardware) -> SoundCardMicrophone:
    wanted = hardware.microphone
    return SoundCardMicrophone(wanted.name, wanted.sample_rate_hz, wanted.channel)
