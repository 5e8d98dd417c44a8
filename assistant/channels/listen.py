"""`bagside listen`: hands free. A recorded question (--wav), a test of each part (--check), or the microphone."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np

from assistant.channels.chat import checked
from assistant.channels.command_line import BAD, DONE, run, say
from assistant.household.care_plan import read_plan
from assistant.household.home import find_home
from assistant.household.kept import Kept
from assistant.session import NoSuchNow, Session, instant
from assistant.voice.conversation import Conversation, Heard
from assistant.voice.ears import open_ears
from assistant.voice.missing import Missing
from assistant.voice.mouth import Manner, Mouth, hours
from assistant.voice.sound import read_wav, wav_bytes
from knowledge.library import table


def main(argv: list[str]) -> int:
    """Exit codes as everywhere; 2 also where a part of the voice is missing, in one line."""
    return run(_parser(), argv)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="bagside listen", description="Ask aloud and hear the answer. No internet.")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--plan", metavar="FILE")
    where.add_argument("--home", metavar="DIR")
    parser.add_argument("--now", metavar="ISO8601")
    parser.add_argument("--wav", metavar="FILE", type=Path, help="one recorded question instead of the microphone")
    parser.add_argument("--reply", metavar="FILE", type=Path, action="append", default=[],
                        help="with --wav: a recorded reply to what is asked back (may stand several times)")
    parser.add_argument("--say-to", metavar="FILE", type=Path, help="write the spoken reply to a WAV file")
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--check", action="store_true", help="test each part and play a phrase")
    parser.add_argument("--model", metavar="DIR", type=Path, help="a folder with a Whisper model (CTranslate2)")
    parser.add_argument("--piper", metavar="FILE", type=Path, help="a Piper voice (.onnx), spoken by its own program")
    parser.add_argument("--quiet", metavar="FROM-TO", help="hours in which the voice stays low, as in 21:00-07:00")
    parser.add_argument("--push-to-talk", action="store_true", help="listen only after the space bar")
    parser.set_defaults(run=_run)
    return parser


def _run(args: argparse.Namespace) -> int:
    quiet = hours(args.quiet) if args.quiet else None
    if args.quiet and quiet is None:
        say(table("voice_en")["terminal"]["quiet_wrong"], sys.stderr)
        return BAD
    if (args.say_to or args.reply) and not args.wav:
        say(table("voice_en")["terminal"]["needs_wav"], sys.stderr)
        return BAD
    try:
        if args.check:
            from assistant.voice.check import check

            return DONE if check(args.model, args.piper, say) else BAD
        session, clock, close = _session(args)
        try:
            return _one(args, session, clock, Manner(quiet=quiet)) if args.wav else _live(args, session, clock, quiet)
        finally:
            close()
    except (Missing, NoSuchNow) as fault:
        say(str(fault), sys.stderr)
        return BAD


def _session(args: argparse.Namespace) -> tuple[Session, Callable[[], datetime], Callable[[], None]]:
    """The household (or a plan alone), its clock, and what ends it."""
    kept, unusable, plan = None, None, None
    if args.plan:
        plan = read_plan(Path(args.plan))
    else:
        folder = find_home(args.home)
        plan = folder.plan() if folder.folder.exists() else None
        if folder.folder.exists():
            kept = Kept(folder.store())
            unusable = checked(kept)
    fixed = instant(args.now, plan) if args.now else None
    session = Session(plan, kept=kept, now=fixed or instant(None, plan), unusable=unusable)

    def clock() -> datetime:
        return fixed or instant(None, plan)

    return session, clock, kept.close if kept is not None else lambda: None


def _one(args: argparse.Namespace, session: Session, clock: Callable[[], datetime], manner: Manner) -> int:
    """A recorded question, and recorded replies to what is asked back; the last record is printed."""
    sounds = [read_wav(path) for path in (args.wav, *args.reply)]
    mouth = Mouth(args.piper) if args.say_to else None
    talk = Conversation(session, open_ears(args.model))
    heard = Heard("", None)
    for sound in sounds:
        heard = talk.hear(sound, clock())
    record = heard.record or _nothing(heard, session, clock())
    if mouth is not None:
        spoken = list(mouth.speak(record["speech"], manner, clock()))
        _write(args.say_to, wav_bytes(np.concatenate(spoken)))
    say(json.dumps(record, ensure_ascii=False) if args.json else record["text"])
    return DONE if session.fault is None else session.fault.exit_code


def _nothing(heard: Heard, session: Session, now: datetime) -> dict[str, Any]:
    from assistant import word

    line = table("voice_en")["says"]["nothing"]
    told = word.told("unclear", "asked_back", {"text": line, "speech": line}, session.night(now), asks="which_question")
    return {"heard": heard.words, **told}


def _write(path: Path, content: bytes) -> None:
    try:
        path.write_bytes(content)
    except OSError as fault:
        raise Missing("not_written", file=path, why=fault.strerror) from None


def _live(args: argparse.Namespace, session: Session, clock: Callable[[], datetime], quiet: Any) -> int:
    from assistant.voice.live import live

    return live(Conversation(session, open_ears(args.model)), Mouth(args.piper), clock, Manner(quiet=quiet),
                push_to_talk=args.push_to_talk)
