"""Another event's hour beside the feed's own: it is for the feed only where no other hour is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

OF_THE_FEED = ("start", "finish", "opened", "ended", "last_done")
PLAIN = 0.9


class WithRoles(Protocol):
    """A number with how strongly each role is spoken for."""

    @property
    def roles(self) -> dict[str, float]: ...


def give_way(spoken: Sequence[WithRoles]) -> None:
    """ "Off by seven; my shift ends at eight": eight ends the shift, since seven plainly ends the feed."""
    events = [s for s in spoken if max(s.roles.get("event", 0.0), s.roles.get("then", 0.0)) > PLAIN]
    for role in OF_THE_FEED if events else ():
        if any(s.roles.get(role, 0.0) >= PLAIN for s in spoken if s not in events and s.roles.get("noise", 0.0) <= PLAIN):
            for event in events:
                event.roles.update({role: 0.0, "event": 1.0})
