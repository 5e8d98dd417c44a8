"""For programs: the answer record, the state, the open Rasa shapes, and server-sent events of state and reminders."""

from __future__ import annotations

import hashlib
from typing import Any

from sanic import HTTPResponse, Request, Sanic
from sanic.exceptions import SanicException
from sanic.response import json as json_response

from assistant.channels.web import parse, state
from assistant.channels.web.events import Events
from assistant.channels.web.house import House, talk_of, text_field
from assistant.channels.web.refused import Refused


def attach(app: Sanic[Any, Any], house: House, events: Events) -> None:
    """The routes under /api, /webhooks and /model, and /health."""

    @app.post("/api/ask")
    async def api_ask(request: Request) -> HTTPResponse:
        """{"text", "now"?, "request"?} -> the answer record. The same `request` again gets the same answer."""
        sent = _sent(request)
        text, now = text_field(sent, "text"), text_field(sent, "now", 60, needed=False)
        number = text_field(sent, "request", 64, needed=False)
        return json_response(await house.run(_say, house, talk_of(request), text, now, number))

    @app.get("/api/state")
    async def state_now(_: Request) -> HTTPResponse:
        """The running feed, what is due, reminders."""
        return json_response(await house.run(whole_state, house))

    @app.post("/api/seen")
    async def api_seen(request: Request) -> HTTPResponse:
        """{"id"}: a reminder that was due was seen. {"seen"}: was it open?"""
        done = await house.run(house.household.seen, text_field(_sent(request), "id", 20))
        events.soon()
        return json_response({"seen": done})

    @app.get("/api/events")
    async def stream(request: Request) -> None:
        await events.send(request)

    @app.post("/webhooks/rest/webhook")
    async def webhook(request: Request) -> HTTPResponse:
        """{"sender", "message"} -> [{"recipient_id", "text"}], the shape of Rasa's REST channel."""
        sent = _sent(request)
        sender, text = text_field(sent, "sender", 200) or "", text_field(sent, "message")
        talk = "rest-" + hashlib.sha256(sender.encode("utf-8", "replace")).hexdigest()[:24]
        record = await house.run(_say, house, talk, text, None, None)
        return json_response([{"recipient_id": sender, "text": record["text"]}])

    @app.post("/model/parse")
    async def model_parse(request: Request) -> HTTPResponse:
        """{"text"} -> how it is heard; nothing is answered or written."""
        return json_response(await house.run(parse.parsed, text_field(_sent(request), "text"), house.household))

    @app.get("/health")
    async def health(_: Request) -> HTTPResponse:
        return json_response({"status": "ok"})


def whole_state(house: House) -> dict[str, Any]:
    night = house.household.night()
    return state.state_of(night, house.household.fault())


def _say(house: House, talk: str, text: str, now: str | None, number: str | None) -> dict[str, Any]:
    household = house.household
    household.session(talk)  # the plan as it is now says in which zone `now` is
    return household.say(talk, text, household.at(now), None if number is None else f"{talk}:{number}")


def _sent(request: Request) -> Any:
    try:
        return request.json
    except SanicException:
        raise Refused("not_read") from None
