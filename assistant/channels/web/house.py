"""What every handler of the page needs: the household in a thread of its own, pairing, and the templates."""

from __future__ import annotations

import re
import secrets
from typing import Any

from sanic import Request
from sanic.request import RequestParameters

from assistant.channels.web.household import SHARED, Household
from assistant.channels.web.one_thread import OneThread
from assistant.channels.web.pairing import Pairing
from assistant.channels.web.refused import Refused
from knowledge.library import table

TALK = "bagside_talk"
NAME = re.compile(r"[A-Za-z0-9_-]{16,40}")
LONGEST = 2_000  # characters of one message


class House(OneThread):
    """The household behind its page, and who may see it."""

    def __init__(self, household: Household, pairing: Pairing) -> None:
        super().__init__("household", words=table("page_en"))
        self.household, self.pairing = household, pairing

    async def close(self) -> None:
        await self.stop(self.household.close)


def talk_of(request: Request) -> str:
    """The browser's own conversation; the household's for whoever names none."""
    name = request.cookies.get(TALK, "")
    return name if name and NAME.fullmatch(name) else SHARED


def new_talk() -> str:
    return secrets.token_urlsafe(18)


def text_field(fields: Any, name: str, longest: int = LONGEST, needed: bool = True) -> str | None:
    """One text of what was sent. Refused where it is missing, no text, or too long."""
    found = fields.get(name) if isinstance(fields, (dict, RequestParameters)) else None
    if found is None and not needed and isinstance(fields, (dict, RequestParameters)):
        return None
    if not isinstance(found, str):
        raise Refused("not_read")
    if len(found) > longest:
        raise Refused("too_long")
    return found
