"""What every handler of the page needs: the household in a thread of its own, pairing, and the templates."""

from __future__ import annotations

import asyncio
import logging
import re
import secrets
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from sanic import Request
from sanic.request import RequestParameters

from assistant.channels.web.household import SHARED, Household
from assistant.channels.web.pairing import Pairing
from assistant.channels.web.refused import Refused
from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import NoSuchNow
from knowledge.library import table

LOG = logging.getLogger("bagside")
PAGE = Path(__file__).parents[2] / "page"
TALK = "bagside_talk"
NAME = re.compile(r"[A-Za-z0-9_-]{16,40}")
LONGEST = 2_000  # characters of one message
Made = TypeVar("Made")


class House:
    """One thread answers, in the order of arrival; the event loop only carries."""

    def __init__(self, household: Household, pairing: Pairing) -> None:
        self.household, self.pairing = household, pairing
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="household")
        self._templates = Environment(
            loader=FileSystemLoader(PAGE / "templates"), autoescape=True, undefined=StrictUndefined,
            trim_blocks=True, lstrip_blocks=True, auto_reload=False,
        )
        self._templates.globals["words"] = table("page_en")

    async def run(self, work: Callable[..., Made], *args: Any) -> Made:
        """Do `work` in the household's thread. Raises Refused for what stands against an answer."""
        try:
            return await asyncio.get_running_loop().run_in_executor(self._thread, work, *args)
        except PlanFaults:
            raise Refused("plan_faulty") from None
        except HouseholdUnreadable as fault:
            LOG.warning("%s", fault)
            raise Refused("unreadable") from None
        except NoSuchNow:
            raise Refused("bad_now") from None

    def render(self, template: str, **facts: Any) -> str:
        return self._templates.get_template(template).render(**facts)

    async def close(self) -> None:
        await self.run(self.household.close)
        self._thread.shutdown(wait=False)


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
