"""The Wyoming protocol with a real client over TCP on this computer."""

from __future__ import annotations

import asyncio
import functools
import re
import subprocess
import sys
from collections.abc import Awaitable, Callable
from typing import Any

import numpy as np
import pytest
from conftest import DEMO, ROOT
from voice_parts import NOW, PLAN, KeptMouth, ToldEars, ears_differ

pytest.importorskip("wyoming", reason="the extra voice is not installed (wyoming)")

from wyoming.asr import Transcribe, Transcript
from wyoming.audio import AudioChunk, AudioStart, AudioStop
from wyoming.client import AsyncTcpClient
from wyoming.event import Event
from wyoming.handle import Handled
from wyoming.info import Describe, Info
from wyoming.server import AsyncTcpServer
from wyoming.tts import Synthesize

from assistant.session import Session
from assistant.voice.hub import Connection, Hub

Talk = Callable[[int, Hub], Awaitable[None]]


def served(talk: Talk, *heard: Any, mouth: Any = None) -> None:
    """Run `talk` against a server of its own."""

    async def both() -> None:
        ears = ToldEars(*heard) if heard else None
        hub = Hub(lambda name: Session(PLAN, now=NOW, sender=name), lambda: NOW, ears, mouth)
        server = AsyncTcpServer("127.0.0.1", 0)
        await server.start(functools.partial(Connection, hub))
        assert server._server is not None
        await asyncio.wait_for(talk(server._server.sockets[0].getsockname()[1], hub), 30)
        await server.stop()

    asyncio.run(both())


async def asked(client: AsyncTcpClient, text: str, satellite: str = "kitchen") -> str:
    context = {"satellite_id": satellite, "conversation_id": "1"}
    await client.write_event(Transcript(text=text, context=context, language="en").event())
    event = await client.read_event()
    assert event is not None and Handled.is_type(event.type), event
    return Handled.from_event(event).text or ""


def test_it_says_what_it_serves() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            await client.write_event(Describe().event())
            event = await client.read_event()
            assert event is not None
            info = Info.from_event(event)
            assert [p.name for p in info.handle] == ["bagside"] and not info.asr and not info.tts and not info.intent

    served(talk)


def test_a_transcript_is_answered_and_the_talk_kept_by_satellite() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            assert "wash your hands" in (await asked(client, "walk me through a flush")).lower()
            elsewhere = await asked(client, "next", "bedroom")
            here = await asked(client, "next", "kitchen")
            assert "step two" in here.lower() and "step two" not in elsewhere.lower()

    served(talk)


def test_numbers_that_one_ear_heard_are_said_back_first() -> None:
    """The hub's own recogniser is one ear. 400 mL at 65 mL/h last 6 h 9 min."""

    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            back = await asked(client, "how long will 400 mL last at 65 an hour")
            assert "four zero zero" in back and "six hours" not in back
            assert "six hours nine minutes" in await asked(client, "yes")

    served(talk)


def test_fifteen_and_fifty_are_told_apart_by_their_digits() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            assert "five zero" in await asked(client, "how long will 300 mL last at 50 an hour")

    served(talk)


def test_a_danger_is_handled_at_once() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            assert "911" in await asked(client, "she is not breathing")

    served(talk)


def test_words_of_our_own_ears_count_as_heard_by_two() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            for event in (Transcribe(language="en"), AudioStart(16000, 2, 1), AudioChunk(16000, 2, 1, b"\0" * 3200),
                          AudioStop()):
                await client.write_event(event.event())
            event = await client.read_event()
            assert event is not None
            words = Transcript.from_event(event).text
            assert "six hours nine minutes" in await asked(client, words)

    served(talk, ears_differ("How long will 400 mL last at 65 an hour?",
                             "how long will four hundred mils last at sixty five an hour"))


def test_speech_comes_as_sound() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            await client.write_event(Synthesize(text="Sixty five.").event())
            kinds = [getattr(await client.read_event(), "type", None) for _ in range(3)]
            assert kinds == ["audio-start", "audio-chunk", "audio-stop"]

    served(talk, mouth=KeptMouth())


def test_a_client_that_is_killed_in_the_middle_disturbs_nobody() -> None:
    async def talk(port: int, hub: Hub) -> None:
        for _ in range(5):
            gone = AsyncTcpClient("127.0.0.1", port)
            await gone.connect()
            await gone.write_event(AudioStart(16000, 2, 1).event())
            await gone.write_event(AudioChunk(16000, 2, 1, b"\0" * 3200).event())
            assert gone._writer is not None
            gone._writer.transport.abort()
        async with AsyncTcpClient("127.0.0.1", port) as client:
            assert "seventy two" in await asked(client, "what is the rate")

    served(talk, "nothing")


@pytest.mark.parametrize("event", [Event("transcript", {}), Event("audio-chunk", {"rate": 0}), Event("nonsense"),
                                   Event("audio-start", {"rate": 16000, "width": 2, "channels": 1})])
def test_an_odd_event_disturbs_nobody(event: Event) -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as odd, AsyncTcpClient("127.0.0.1", port) as client:
            await odd.write_event(event)
            assert "seventy two" in await asked(client, "what is the rate")

    served(talk, "nothing")


def test_a_stream_without_end_is_not_kept() -> None:
    async def talk(port: int, hub: Hub) -> None:
        async with AsyncTcpClient("127.0.0.1", port) as client:
            await client.write_event(AudioStart(16000, 2, 1).event())
            for _ in range(90):
                await client.write_event(AudioChunk(16000, 2, 1, np.zeros(16000, np.int16).tobytes()).event())
            await client.write_event(AudioStop().event())
            event = await client.read_event()
            assert event is not None and Transcript.is_type(event.type)

    served(talk, "nothing")


def test_the_command_serves_and_says_where() -> None:
    command = [sys.executable, "-m", "assistant.cli", "wyoming", "--plan", str(DEMO / "child_overnight_pump.toml"),
               "--now", "2026-11-25T22:10", "--port"]

    def port_of(line: str) -> int:
        found = re.search(r"127\.0\.0\.1:(\d+)", line)
        assert found, line
        return int(found[1])

    import socket

    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen([*command, str(port)], stdout=subprocess.PIPE, text=True, cwd=ROOT)
    try:
        assert process.stdout is not None
        assert port_of(process.stdout.readline()) == port

        async def talk() -> None:
            async with AsyncTcpClient("127.0.0.1", port) as client:
                assert "seventy two" in await asked(client, "what is the rate")

        asyncio.run(talk())
        second = subprocess.run([*command, str(port)], capture_output=True, text=True, cwd=ROOT, timeout=60,
                                check=False)
        assert second.returncode == 2 and "--port" in second.stderr and "Traceback" not in second.stderr
    finally:
        process.terminate()
        process.wait(timeout=10)
