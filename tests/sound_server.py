"""Runs a sound server with one virtual microphone: the true path through PortAudio without a card.

PulseAudio's null sink keeps real time, and its monitor is a source that PortAudio opens through
ALSA's pulse plug-in like any microphone. What is played into the sink is heard by the box, to the
bit. A stream of noise of one step keeps the sink awake, as quiet as a converter can be without standing
still; without it sound arrives up to a second late.
"""

import os
import shutil
import signal
import subprocess
import time
from pathlib import Path

import numpy as np
import soundfile

NEEDED = ("pulseaudio", "pacat", "paplay", "pactl")
MISSING = ", ".join(tool for tool in NEEDED if shutil.which(tool) is None)
RATE = 48000  # Hz, of the sink
# A sound card keeps its pace however busy the processor is; what stands in for one goes first where it may.
BEFORE_OTHERS = ("nice", "-n", "-15") if os.geteuid() == 0 else ()
ASOUNDRC = """</usr/share/alsa/alsa.conf>
pcm.wallspeaker { type pulse device "wall" hint { show on description "Virtual loudspeaker" } }
pcm.wallmic { type pulse device "wall.monitor" hint { show on description "Virtual microphone" } }
"""


class SoundServer:
    """One PulseAudio daemon in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        folder.chmod(0o700)
        (folder / "asoundrc").write_text(ASOUNDRC)
        self.environment = {
            **os.environ,
            "PULSE_SERVER": f"unix:{folder}/sock",
            "HOME": str(folder),
            "XDG_RUNTIME_DIR": str(folder),
            "ALSA_CONFIG_PATH": str(folder / "asoundrc"),
        }
        self._players: list[subprocess.Popen[bytes]] = []  # that keep the sink awake
        self._playing: list[subprocess.Popen[bytes]] = []
        self._played = 0
        self.start()

    def start(self) -> None:
        socket = f"module-native-protocol-unix socket={self.folder}/sock auth-anonymous=1"
        self.daemon = self._spawn(
            "pulseaudio", "-n", "--exit-idle-time=-1", "--use-pid-file=no", "--disable-shm=yes",
            "--high-priority=no", "--realtime=no", "-L", socket,
        )  # fmt: skip
        self._until(lambda: self.control("info").returncode == 0)
        self.plug_in()

    def plug_in(self) -> None:
        """Make the virtual microphone, and keep it awake."""
        done = self.control(
            "load-module", "module-null-sink", "sink_name=wall", f"rate={RATE}", "channels=1", "format=s16le"
        )
        assert done.returncode == 0, done.stderr
        self.module = done.stdout.strip()
        self.keep_awake()

    def keep_awake(self) -> None:
        raw = ("--playback", "--device=wall", f"--rate={RATE}", "--channels=1", "--format=s16le")
        one_step = (
            "--volume=2048"  # of 65536, whose cube is the factor: full scale becomes one step of 16 bits
        )
        self._players.append(self._spawn("pacat", *raw, one_step, "--latency-msec=10", "/dev/urandom"))
        self._until(lambda: "RUNNING" in self.control("list", "short", "sinks").stdout)

    def unplug(self) -> None:
        """The microphone's card is gone."""
        self.control("unload-module", self.module)

    def suspend(self, yes: bool) -> None:
        """The source goes to sleep, or wakes up, and nobody is told."""
        self.control("suspend-sink", "wall", "1" if yes else "0")

    def freeze(self, yes: bool) -> None:
        """The whole server stops answering, or goes on."""
        self.daemon.send_signal(signal.SIGSTOP if yes else signal.SIGCONT)

    def play(self, samples: np.ndarray, gain: float = 1.0) -> None:
        """Start playing mono samples at the sink's rate; returns when the player runs."""
        path = self.folder / f"played{self._played}.wav"
        self._played += 1
        soundfile.write(path, gain * samples, RATE, subtype="PCM_16")
        # Far ahead: with 20 ms the player ran dry on a busy machine, and sound with holes in it was heard.
        self._playing.append(self._spawn("paplay", "--device=wall", "--latency-msec=2000", str(path)))

    def hush(self) -> None:
        """Stop what is still playing."""
        for player in self._playing:
            player.terminate()
            player.wait(10)
        self._playing = []

    def control(self, *words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["pactl", *words], env=self.environment, capture_output=True, text=True, timeout=10, check=False
        )

    def stop(self) -> None:
        self.daemon.send_signal(signal.SIGCONT)
        self._players += self._playing
        for process in (*self._players, self.daemon):
            process.terminate()
        for process in (*self._players, self.daemon):
            try:
                process.wait(5)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()

    def _spawn(self, *words: str) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            (*BEFORE_OTHERS, *words),
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    @staticmethod
    def _until(true, limit_s: float = 10.0) -> None:
        end = time.monotonic() + limit_s
        while not true():
            assert time.monotonic() < end, "the sound server did not come up"
            time.sleep(0.05)
