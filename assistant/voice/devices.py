"""Microphone and loudspeaker through PortAudio. What stands in for them in tests has the same few methods."""

from __future__ import annotations

import queue
import threading
from collections.abc import Iterator
from typing import Any, Protocol

import numpy as np

from assistant.voice.missing import Missing
from assistant.voice.segments import FRAME, Frame
from assistant.voice.sound import RATE, Sound

HELD = 320       # frames (10 s) that wait while a question is answered; past that there is a gap
GONE_S = 5.0     # without a frame for so long the device is taken for gone


class Source(Protocol):
    """Frames as they come; None is a gap (some were lost). Raises Missing where the device is not there, or goes."""

    def frames(self) -> Iterator[Frame | None]: ...


class Speaker(Protocol):
    """Plays a sound to its end, or until `stop` is called from elsewhere."""

    def play(self, sound: Sound) -> None: ...

    def stop(self) -> None: ...


class Held:
    """Frames on their way from the device's thread to ours: never more than HELD; a loss is a gap, never silence."""

    def __init__(self, most: int = HELD) -> None:
        self._queue: queue.Queue[Frame | None] = queue.Queue(most + 1)
        self._most = most
        self._gap = False
        self.lost = 0

    def put(self, frame: Frame) -> None:
        """Called by the device: never waits."""
        if self._queue.qsize() >= self._most:
            self.lost += 1
            self._gap = True
            return
        if self._gap:
            self._queue.put_nowait(None)
            self._gap = False
        self._queue.put_nowait(frame)

    def get(self, timeout: float) -> Frame | None:
        """The next frame or gap. Raises queue.Empty."""
        return self._queue.get(timeout=timeout)


def _portaudio() -> Any:
    try:
        import sounddevice
    except ImportError:
        raise Missing("package", package="sounddevice") from None
    except OSError:
        raise Missing("sound_library") from None
    return sounddevice


class Microphone:
    """The default microphone."""

    def frames(self) -> Iterator[Frame | None]:
        device, held = _portaudio(), Held()

        def taken(data: Any, _count: int, _time: Any, status: Any) -> None:
            if status:
                held.lost += 1
            held.put(np.frombuffer(bytes(data), dtype=np.int16))

        try:
            stream = device.RawInputStream(samplerate=RATE, blocksize=FRAME, channels=1, dtype="int16", callback=taken)
        except (device.PortAudioError, ValueError):
            raise Missing("microphone") from None
        with stream:
            while True:
                try:
                    yield held.get(GONE_S)
                except queue.Empty:
                    raise Missing("microphone") from None


class Loudspeaker:
    """The default loudspeaker."""

    def __init__(self) -> None:
        self._device = _portaudio()
        self._stopped = threading.Event()

    def play(self, sound: Sound) -> None:
        """Raises Missing where there is none."""
        self._stopped.clear()
        try:
            with self._device.RawOutputStream(samplerate=RATE, channels=1, dtype="int16") as stream:
                for at in range(0, len(sound), FRAME):
                    if self._stopped.is_set():
                        return
                    stream.write(sound[at : at + FRAME].tobytes())
        except (self._device.PortAudioError, ValueError):
            raise Missing("speaker") from None

    def stop(self) -> None:
        self._stopped.set()


def named(kind: str) -> str:
    """The name of the default device of a kind ("input", "output"). Raises Missing."""
    device = _portaudio()
    try:
        return str(device.query_devices(kind=kind)["name"])
    except (device.PortAudioError, ValueError, KeyError):
        raise Missing("microphone" if kind == "input" else "speaker") from None
