"""How instants, amounts and conversations stand in the records: exact text, the same in every store."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.household.unreadable import HouseholdUnreadable
from rules.quantity import Quantity, qty


def utc_text(at: datetime) -> str:
    """An instant as text that sorts by time. A datetime without a zone is a mistake of ours."""
    return utc(at).isoformat(timespec="microseconds")


def utc(at: datetime) -> datetime:
    """An instant in UTC. A datetime without a zone is a mistake of ours."""
    if at.tzinfo is None:
        raise ValueError("an instant needs a zone")
    return at.astimezone(UTC)


def amount_text(quantity: Quantity | None, unit: str) -> str | None:
    """A quantity as exact text ("62.5 mL"). An amount below nothing is a mistake of ours."""
    if quantity is None:
        return None
    number = quantity.to(unit).magnitude
    if not isinstance(number, Decimal) or not number.is_finite() or number < 0:
        raise ValueError("an amount in the log is a Decimal, 0 or more")
    return f"{number:f} {unit}"


def amount(text: Any, unit: str, where: Path | str) -> Quantity | None:
    """The quantity of such a text. Raises HouseholdUnreadable `damaged` where it is none."""
    if text is None:
        return None
    number, _, written = str(text).partition(" ")
    if written != unit or not re.fullmatch(r"[0-9]+(\.[0-9]+)?", number):
        raise HouseholdUnreadable("damaged", where)
    return qty(number, unit)


def instant(text: Any, where: Path | str) -> datetime:
    """The instant of such a text. Raises HouseholdUnreadable `damaged` where it is none."""
    try:
        return datetime.fromisoformat(text)
    except (TypeError, ValueError):
        raise HouseholdUnreadable("damaged", where) from None


def plain_json(text: Any, where: Path | str) -> dict[str, Any]:
    """A JSON object. Raises HouseholdUnreadable `damaged` where the text is none."""
    try:
        found = json.loads(text)
    except (TypeError, ValueError):
        raise HouseholdUnreadable("damaged", where) from None
    if not isinstance(found, dict):
        raise HouseholdUnreadable("damaged", where)
    return found
