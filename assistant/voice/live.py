"""The loop on this computer's microphone, loudspeaker and keyboard: keys, level meter, a device that comes back."""

from __future__ import annotations

import contextlib
import select
import sys
import time
from collections.abc import Callable, Iterator
from datetime import datetime

from assistant.voice.conversation import Conversation
from assistant.voice.devices import Loudspeaker, Microphone, Source
from assistant.voice.loop import Loop
from assistant.voice.missing import Missing
from assistant.voice.mouth import Manner, Mouth
from assistant.voice.segments import Frame, Segments, activity
from assistant.voice.sound import loudness
from assistant.voice.talker import Talker
from assistant.voice.wake import phrases
from knowledge.library import table

TRIES_EVERY_S = 2.0
METER_EVERY = 6  # frames
BARS = 24


def live(talk: Conversation, mouth: Mouth, clock: Callable[[], datetime], manner: Manner, push_to_talk: bool) -> int:
    """Until "q", Ctrl-C or the end of the input. Raises Missing where there is no microphone to begin with."""
    talker = Talker(mouth, Loudspeaker(), lambda line: show("fault", line))
    loop = Loop(talk, talker, Segments(activity()), clock, manner, show, wake=not push_to_talk)
    source = Microphone()
    with keys() as pressed:
        try:
            listen(loop, source, pressed)
        except KeyboardInterrupt:
            pass
        finally:
            talker.close()
    return 0


def listen(loop: Loop, source: Source, pressed: Callable[[], str], tries_every_s: float = TRIES_EVERY_S) -> None:
    """Frames into the loop until "q". A device that goes is tried again; one that was never there is Missing."""
    says = table("voice_en")["says"]
    began = gone = False
    while True:
        try:
            for count, frame in enumerate(source.frames()):
                if not began:
                    show("note", says["listening"].format(wake=phrases()[0]))
                elif gone:
                    show("note", says["back"])
                began, gone = True, False
                if (key := pressed()) == "q":
                    return
                if key == " ":
                    loop.push()
                loop.frame(frame)
                loop.still_speaking()
                if count % METER_EVERY == 0:
                    meter(frame)
            return
        except Missing:
            if not began:
                raise
            if not gone:
                show("fault", says["went"])
            gone = True
            loop.frame(None)
            if pressed() == "q":
                return
            time.sleep(tries_every_s)


def show(what: str, words: str) -> None:
    """One line for who looks at the terminal."""
    line = table("voice_en")["terminal"].get(what, "{text}").format(text=words)
    print(f"\r{' ' * (BARS + 3)}\r{line}", flush=True)


def meter(frame: Frame | None) -> None:
    """How loud it is, on a terminal only."""
    if frame is not None and sys.stdout.isatty():
        full = min(BARS, int(loudness(frame) ** 0.5 * BARS * 1.6))
        print(f"\r[{'#' * full}{' ' * (BARS - full)}]", end="", flush=True)


@contextlib.contextmanager
def keys() -> Iterator[Callable[[], str]]:
    """The key that was pressed, without waiting; "" for none. Where the input is no terminal there are no keys."""
    if not sys.stdin.isatty():
        yield lambda: ""
        return
    import termios
    import tty

    before = termios.tcgetattr(sys.stdin)
    tty.setcbreak(sys.stdin.fileno())
    try:
        yield lambda: sys.stdin.read(1) if select.select([sys.stdin], [], [], 0)[0] else ""
    finally:
        termios.tcsetattr(sys.stdin, termios.TCSADRAIN, before)
