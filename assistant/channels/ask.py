"""`bagside ask`: one question, answered, exit. With --plan nothing is written; with a home the conversation goes on."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from assistant.household.care_plan import read_plan
from assistant.household.home import find_home
from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import NoSuchNow, Session, instant


def answer_once(
    text: str, plan: str | None, home: str | None, now: str | None, as_json: bool, request: str | None = None
) -> tuple[int, str, str]:
    """Exit code, what goes to standard output, what goes to standard error.

    Records that cannot be used cost exit code 3 and one line, not the answer from the plan. A `request` sent twice
    (a helper that died after it wrote) is written once.
    """
    kept = None
    try:
        care_plan, kept = _read(plan, home)
        at = instant(now, care_plan)
        session = Session(care_plan, kept=kept, now=at)
        record = session.say(text, at, request)
    except PlanFaults as faults:
        return 2, "", "\n".join(faults.lines())
    except NoSuchNow as fault:
        return 2, "", str(fault)
    except HouseholdUnreadable as fault:
        return fault.exit_code, "", str(fault)
    finally:
        if kept is not None:
            kept.close()  # the helper process lives on: an open connection would write over a file put back meanwhile
    out = json.dumps(record, ensure_ascii=False) if as_json else record["text"]
    return (0, out, "") if session.fault is None else (session.fault.exit_code, out, str(session.fault))


def _read(plan: str | None, home: str | None) -> tuple[Any, Any]:
    if plan is not None:
        return read_plan(Path(plan)), None
    folder = find_home(home)
    if not folder.folder.exists():
        return None, None  # nothing is made by asking
    from assistant.household.kept import Kept

    return folder.plan(), Kept(folder.store())
