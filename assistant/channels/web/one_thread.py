"""One thread that works in the order of arrival, and the templates: what the household's page and the desk stand on."""

from __future__ import annotations

import asyncio
import logging
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from assistant.channels.web.refused import Refused
from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import NoSuchNow

LOG = logging.getLogger("bagside")
PAGE = Path(__file__).parents[2] / "page"
Made = TypeVar("Made")


class OneThread:
    """The event loop only carries. `words`: what every template may name."""

    def __init__(self, name: str, folder: str = "", **words: Any) -> None:
        self._thread = ThreadPoolExecutor(1, thread_name_prefix=name)
        self._folder = folder
        self._templates = Environment(
            loader=FileSystemLoader(PAGE / "templates"), autoescape=True, undefined=StrictUndefined,
            trim_blocks=True, lstrip_blocks=True, auto_reload=False,
        )
        self._templates.globals.update(words)

    async def run(self, work: Callable[..., Made], *args: Any) -> Made:
        """Do `work` in the thread. Raises Refused for what stands against it."""
        try:
            return await asyncio.get_running_loop().run_in_executor(self._thread, work, *args)
        except PlanFaults:
            raise Refused("plan_faulty") from None
        except HouseholdUnreadable as fault:
            if fault.code == "no_home":
                raise Refused("no_home") from None
            LOG.warning("%s", fault)
            raise Refused("unreadable") from None
        except NoSuchNow:
            raise Refused("bad_now") from None

    def render(self, template: str, **facts: Any) -> str:
        return self._templates.get_template(f"{self._folder}{template}").render(**facts)

    async def stop(self, last: Callable[[], None]) -> None:
        """Do the `last` work and let the thread go."""
        await self.run(last)
        self._thread.shutdown(wait=False)
