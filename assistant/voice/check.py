"""`bagside listen --check`: each part of the voice, there or missing, and a phrase spoken and heard again."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from assistant.voice.missing import Missing
from assistant.voice.sound import silence
from knowledge.library import table


def check(model: Path | None, piper: Path | None, say: Callable[[str], None]) -> bool:
    """Say a line for each part. True where a recorded question can be answered aloud (devices may be missing)."""
    from assistant.voice.mouth import Mouth
    from assistant.voice.segments import activity
    from assistant.voice.sphinx import Sphinx
    from assistant.voice.whisper import Whisper

    parts = {
        "first_ear": lambda: Whisper(model),
        "second_ear": Sphinx,
        "activity": activity,
        "voice": lambda: Mouth(piper),
        "microphone": lambda: _device("input"),
        "speaker": lambda: _device("output"),
    }
    found = {name: _tried(name, opened, say) for name, opened in parts.items()}
    if found["voice"] is None or (found["first_ear"] is None and found["second_ear"] is None):
        return False
    return _tried("heard_back", lambda: _heard_back(found), say) is not None


def _tried(name: str, opened: Callable[[], Any], say: Callable[[str], None]) -> Any:
    words = table("voice_en")["terminal"]
    try:
        made = opened()
    except Missing as missing:
        say(words["lacks"].format(part=words["parts"][name], how=missing))
        return None
    described = made if isinstance(made, str) else getattr(made, "name", type(made).__name__)
    say(words["ok"].format(part=words["parts"][name], found="silero" if name == "activity" else described))
    return made


def _device(kind: str) -> str:
    from assistant.voice.devices import named

    return named(kind)


def _heard_back(found: dict[str, Any]) -> str:
    """The check's phrase, played where there is a loudspeaker, and what the first ear makes of it."""
    from assistant.voice.mouth import Manner

    phrase = table("voice_en")["says"]["check"]
    spoken = np.concatenate([silence(0.3), *found["voice"].speak(phrase, Manner(), datetime.now(UTC)), silence(0.5)])
    if found["speaker"] is not None:
        from assistant.voice.devices import Loudspeaker

        Loudspeaker().play(spoken)
    heard = (found["first_ear"] or found["second_ear"]).heard(spoken)
    return str(getattr(heard, "text", heard))
