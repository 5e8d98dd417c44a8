"""The second ear: pocketsphinx with a trigram of our own. Small, quick, and mistaken in other ways than the first."""

from __future__ import annotations

import contextlib
import gzip
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from assistant.voice.missing import Missing
from assistant.voice.sound import RATE, Sound
from assistant.voice.spoken_words import MODEL
from assistant.voice.wake import phrases
from knowledge.library import table

HEAD = int(2.2 * RATE)  # of an utterance: the wake phrase, and what is kept from before the speech
WAKE = 1e-30            # how strict: 1e-5 would miss none in clear speech, but beside a pump most


def _model() -> tuple[Any, Path]:
    try:
        import pocketsphinx
    except ImportError:
        raise Missing("package", package="pocketsphinx") from None
    return pocketsphinx, Path(pocketsphinx.__file__).parent / "model" / "en-us"


def dictionary() -> dict[str, str]:
    """Every word the recogniser can be taught, with its sounds; ours where it has none."""
    folder = _model()[1]
    found: dict[str, str] = {}
    for line in (folder / "cmudict-en-us.dict").read_text(encoding="utf-8").splitlines():
        word, _, sounds = line.partition(" ")
        if "(" not in word:
            found[word] = sounds
    return {**found, **table("voice_en")["pronounced"]}


class Sphinx:
    """Words by a trigram of what people say about feeding; or, for a question with few answers, by those alone."""

    name = "pocketsphinx"

    def __init__(self) -> None:
        """Raises Missing. About 0.2 s and 30 MB."""
        pocketsphinx, folder = _model()
        if not MODEL.exists():
            raise Missing("language_model", file=MODEL)
        self._decoder_class, self._folder = pocketsphinx.Decoder, folder
        with tempfile.TemporaryDirectory() as made:
            model = Path(made) / "trigram.arpa"
            model.write_bytes(gzip.decompress(MODEL.read_bytes()))
            self._wake: Any = None
            self._open = self._decoder(Path(made), _words_in(model), lm=str(model))

    def heard(self, sound: Sound) -> str:
        """The likeliest words; empty for none."""
        return _heard(self._open, sound)

    def one_of(self, sound: Sound, answers: Iterable[str]) -> str:
        """Which of a few answers was said; empty where none fits."""
        listed = " | ".join(f"( {answer} )" for answer in answers)
        words = {word for word in listed.replace("(", " ").replace(")", " ").split() if word != "|"}
        with tempfile.TemporaryDirectory() as made:
            grammar = Path(made) / "answers.gram"
            grammar.write_text(f"#JSGF V1.0;\ngrammar answers;\npublic <answer> = {listed};\n", encoding="utf-8")
            return _heard(self._decoder(Path(made), words, jsgf=str(grammar)), sound)

    def wakes(self, sound: Sound) -> bool:
        """Are these the sounds of the wake phrase, at the beginning? Words are not asked for."""
        if self._wake is None:
            with tempfile.TemporaryDirectory() as made:
                listed = Path(made) / "phrases.list"
                listed.write_text("".join(f"{phrase} /{WAKE}/\n" for phrase in phrases()), encoding="utf-8")
                self._wake = self._decoder(Path(made), " ".join(phrases()).split(), kws=str(listed))
        return bool(_heard(self._wake, sound[:HEAD]))

    def _decoder(self, folder: Path, words: Iterable[str], **model: str | None) -> Any:
        """A decoder that knows only `words`: the whole dictionary costs 100 MB."""
        small = folder / "words.dict"
        small.write_text("".join(_sounds(self._folder / "cmudict-en-us.dict", set(words))), encoding="utf-8")
        given = {"lm": None, **model}
        return self._decoder_class(hmm=str(self._folder / "en-us"), dict=str(small), loglevel="FATAL", **given)


def _words_in(model: Path) -> set[str]:
    """The words of an ARPA file."""
    words = set()
    with model.open(encoding="utf-8") as lines:
        for line in lines:
            if line.startswith("\\2-grams"):
                break
            if "\t" in line:
                words.add(line.split("\t")[1].strip())
    return words - {"<s>", "</s>", "<unk>"}


def _sounds(path: Path, words: set[str]) -> Iterator[str]:
    """The dictionary's lines of `words`, all their pronunciations."""
    own = table("voice_en")["pronounced"]
    yield from (f"{word} {own[word]}\n" for word in sorted(words & set(own)))
    with path.open(encoding="utf-8") as lines:
        for line in lines:
            word = line.split(" ", 1)[0].partition("(")[0]
            if word in words and word not in own:
                yield line


def _heard(decoder: Any, sound: Sound) -> str:
    decoder.start_utt()
    with contextlib.suppress(RuntimeError):  # too short for a single frame: nothing was said
        decoder.process_raw(sound.tobytes(), full_utt=True)
    decoder.end_utt()
    found = decoder.hyp()
    return found.hypstr if found is not None else ""
