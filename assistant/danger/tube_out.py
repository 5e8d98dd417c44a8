"""Which card a tube that came out calls for: not the same for every tube, nor for one that is new."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.night import JEJUNAL, Night

TUBE_OUT = frozenset({"tube_out", "tube_out_new", "tube_out_jejunal", "tube_out_nasal"})
NEW_TUBE_DAYS = 84  # the tract counts as immature for 12 weeks


def fitting(cards: Iterable[str | None], text: str, night: Night) -> list[str]:
    """The cards with the tube's kind and age put in."""
    kept = [c for c in cards if c is not None and c not in TUBE_OUT]
    mine = {c for c in cards if c in TUBE_OUT}
    if mine:
        kept.append(_tube_out(mine, night))
    return sorted(kept)


def _tube_out(named: set[str], night: Night) -> str:
    plan = night.plan
    if said := named & {"tube_out_jejunal", "tube_out_nasal"}:
        return min(said)
    if plan is not None and plan.route in JEJUNAL:
        return "tube_out_jejunal" if plan.route != "nasojejunal" else "tube_out_nasal"
    if plan is not None and plan.route == "nasogastric":
        return "tube_out_nasal"
    young = (
        plan is not None and plan.tube.placed is not None and 0 <= (night.today - plan.tube.placed).days < NEW_TUBE_DAYS
    )
    return "tube_out_new" if "tube_out_new" in named or young or night.noted("new_tube") else "tube_out"
