"""A sound server of a test's own: real PulseAudio, no hardware; what is played comes out of a microphone.

Nothing of it touches the user's server: home, runtime folder, socket and ALSA's settings are the test's. The
microphone is a source that can be taken away (`unplug`) while the sink plays on. Debian: pulseaudio
pulseaudio-utils libasound2-plugins libportaudio2.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import tempfile
import time
from pathlib import Path
from types import TracebackType
from typing import Self

MICROPHONE = "virtual_microphone"
PROGRAMS = ("pulseaudio", "pactl", "paplay", "pacat")
# Both names lead to the source alone: left to itself the server would go on with the sink's monitor.
_ALSA = f"""
pcm.{MICROPHONE} {{ type pulse device {MICROPHONE} }}
pcm.bench {{ type pulse device bench }}
pcm.!default {{ type asym capture.pcm {MICROPHONE} playback.pcm bench }}
ctl.!default {{ type pulse }}
"""


def missing() -> str:
    """What a test needs of the system and is not here, "" for nothing."""
    gone = [program for program in PROGRAMS if shutil.which(program) is None]
    if not list(Path("/usr/lib").glob("**/alsa-lib/libasound_module_pcm_pulse.so")):
        gone.append("ALSA's plugin for PulseAudio")
    cure = "apt-get install pulseaudio pulseaudio-utils libasound2-plugins libportaudio2"
    return f"needs {', '.join(gone)}: {cure}" if gone else ""


class SoundServer:
    """The server, from entering to leaving. `env`: what a program needs in its environment to use it."""

    def __init__(self, *, rate: int = 48000) -> None:
        """`rate`: of the sink and the microphone, Hz."""
        self.folder = Path(tempfile.mkdtemp(prefix="dictate-sound-"))  # short: sockets' names are limited
        self._rate = rate
        run = self.folder / "run"
        run.mkdir(mode=0o700)
        (self.folder / "asound.conf").write_text(_ALSA)
        self.env = {
            **os.environ,
            "HOME": str(self.folder),
            "XDG_RUNTIME_DIR": str(run),
            "PULSE_RUNTIME_PATH": str(run / "pulse"),
            "PULSE_SERVER": f"unix:{self.folder}/socket",
            "ALSA_CONFIG_PATH": str(self.folder / "asound.conf"),
        }
        self._players: list[subprocess.Popen[bytes]] = []

    def __enter__(self) -> Self:
        """Starts it; the sink is warm (cold, its first samples come up to 1.5 s late)."""
        try:
            self._begin()
        except BaseException:
            self.stop()
            raise
        return self

    def _begin(self) -> None:
        script = self.folder / "start.pa"
        script.write_text(
            f"load-module module-native-protocol-unix socket={self.folder}/socket auth-anonymous=1\n"
            f"load-module module-cli-protocol-unix socket={self.folder}/cli\n"
            f"load-module module-null-sink sink_name=bench rate={self._rate} channels=1\n"
            "set-default-sink bench\n"
        )
        env = {key: value for key, value in self.env.items() if key != "PULSE_SERVER"}
        # before other work of the machine, where that is allowed: what it misses is silence in the sound
        command = [
            "nice",
            "-n",
            "-10",
            "pulseaudio",
            "-n",
            "--exit-idle-time=-1",
            "--daemonize=no",
            "--use-pid-file=no",
        ]
        command += ["-F", str(script), f"--log-target=file:{self.folder}/log"]
        server = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        self._players.append(server)
        for _ in range(100):
            if self._answers():
                break
            time.sleep(0.1)
        else:
            raise RuntimeError(f"PulseAudio does not start: {(self.folder / 'log').read_text()}")
        self._start("pacat", "--device=bench", "--latency-msec=20", "/dev/zero")
        self.plug()
        time.sleep(2)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Ends it and all that plays."""
        self.stop()

    def stop(self) -> None:
        """End it and all that plays; its folder goes."""
        while self._players:
            player = self._players.pop()
            player.terminate()
            player.wait(timeout=10)
        shutil.rmtree(self.folder, ignore_errors=True)

    def play(self, path: Path) -> subprocess.Popen[bytes]:
        """Play a sound file into the microphone; the player, which need not be waited for."""
        return self._start("paplay", "--device=bench", "--latency-msec=2000", str(path))

    def plug(self) -> None:
        """The microphone is there."""
        self._do(
            "pactl", "load-module", "module-remap-source", f"source_name={MICROPHONE}", "master=bench.monitor"
        )
        self._do("pactl", "set-default-source", MICROPHONE)

    def unplug(self) -> None:
        """The microphone is pulled out. Streams that the server moves to the sink's monitor end too, as they
        do where there is no second microphone.
        """
        self._do("pactl", "unload-module", "module-remap-source")
        streams = self._do("pactl", "list", "short", "source-outputs")
        with socket.socket(socket.AF_UNIX) as line:
            line.connect(f"{self.folder}/cli")
            for stream in streams.splitlines():
                line.sendall(f"kill-source-output {stream.split()[0]}\n".encode())
            time.sleep(0.05)

    def _start(self, *command: str) -> subprocess.Popen[bytes]:
        quiet = subprocess.DEVNULL
        player = subprocess.Popen(command, env=self.env, stdout=quiet, stderr=quiet)
        self._players.append(player)
        return player

    def _answers(self) -> bool:
        asked = subprocess.run(["pactl", "info"], env=self.env, capture_output=True, check=False)
        return asked.returncode == 0

    def _do(self, *command: str) -> str:
        done = subprocess.run(command, env=self.env, capture_output=True, check=True, text=True, timeout=10)
        return done.stdout
