"""Every key a care plan may hold, and what kind of value it takes. The one table; nothing else lists the keys."""

from __future__ import annotations

from dataclasses import dataclass

ROUTES = ("nasogastric", "nasojejunal", "gastrostomy", "gastrojejunal", "jejunostomy")
#: routes that end beyond the stomach: catch-up and fast feeds are the care team's decision
JEJUNAL_ROUTES = frozenset({"nasojejunal", "gastrojejunal", "jejunostomy"})
AGE_GROUPS = ("infant", "child", "adult")
NOTES = ("insulin", "new_tube", "weak_immunity", "tracheostomy", "fluid_restriction", "reflux", "allergy",
         "ketogenic", "seizure_medicine")
FORMS = ("closed_bag", "sterile_liquid", "powder", "human_milk", "fortified_milk", "home_blend")
METHODS = ("pump", "gravity", "syringe")
FLUSH_TIMES = ("before_feed", "after_feed", "after_medicine")


@dataclass(frozen=True)
class Key:
    """What one key takes.

    kind      amount, percent, count, date, clock, moment, words, phone, choice, choices, flush_times, yes_no, zone
    measure   for an amount: volume, rate, time, energy, protein, weight, powder, length, french, drop_factor
    choices   for choice and choices: the closed list
    may_be_zero   an amount of nothing makes sense here
    """

    kind: str
    measure: str = ""
    choices: tuple[str, ...] = ()
    required: bool = False
    may_be_zero: bool = False


def _amount(measure: str, *, may_be_zero: bool = False) -> Key:
    return Key("amount", measure, may_be_zero=may_be_zero)


VOLUME, RATE, TIME, WORDS = _amount("volume"), _amount("rate"), _amount("time"), Key("words")

#: section -> key -> what it takes. "" is the top of the file; a dot is a table inside a table.
SECTIONS: dict[str, dict[str, Key]] = {
    "": {
        "route": Key("choice", choices=ROUTES, required=True),
        "timezone": Key("zone", required=True),
        "units": Key("choice", choices=("us", "metric")),
        "issued": Key("date"),
        "review_by": Key("date"),
        "water_goal": VOLUME,
    },
    "person": {
        "nickname": WORDS,
        "born": Key("date"),
        "age_group": Key("choice", choices=AGE_GROUPS),
        "weight": _amount("weight"),
        "notes": Key("choices", choices=NOTES),
    },
    "tube": {
        "kind": WORDS,
        "size": _amount("french"),
        "placed": Key("date"),
        "outside_length": _amount("length", may_be_zero=True),
        "balloon_water": VOLUME,
    },
    "formula": {
        "name": WORDS,
        "energy": Key("amount", "energy", required=True),
        "protein": _amount("protein"),
        "free_water": Key("percent"),
        "container": VOLUME,
        "form": Key("choice", choices=FORMS),
    },
    "formula.recipe": {
        "powder": _amount("powder"),
        "scoop": _amount("powder"),
        "water": VOLUME,
        "makes": VOLUME,
    },
    "feeds": {
        "name": WORDS,
        "method": Key("choice", choices=METHODS, required=True),
        "start": Key("clock"),
        "rate": RATE,
        "volume": VOLUME,
        "over": TIME,
    },
    "limits": {
        "lowest_rate": RATE,
        "highest_rate": RATE,
        "family_may_change_rate": Key("yes_no"),
        "hang_time": TIME,
    },
    "limits.catch_up": {"until": Key("clock"), "highest_rate": RATE},
    "steps": {"from": Key("moment", required=True), "rate": Key("amount", "rate", required=True)},
    "flushes": {
        "volume": VOLUME,
        "when": Key("flush_times", choices=FLUSH_TIMES),
        "medicines_a_day": Key("count"),
    },
    "equipment": {
        "bag": VOLUME,
        "priming_volume": VOLUME,
        "pump_accuracy": Key("percent"),
        "pump_step": RATE,
        "pump_highest_rate": RATE,
        "drop_factor": _amount("drop_factor"),
        "syringe": VOLUME,
    },
    "equipment.battery": {
        "lasts": Key("amount", "time", required=True),
        "at": Key("amount", "rate", required=True),
    },
    "supplies": {
        "containers": Key("count"),
        "bags": Key("count"),
        "counted": Key("date"),
        "reorder_lead": TIME,
    },
    "contacts": {
        "nurse_line": Key("phone"),
        "supplier": Key("phone"),
        "emergency": Key("phone"),
    },
}

#: sections written as [[section]]: any number of them, in order
REPEATED = frozenset({"feeds", "steps"})


def inner_tables(section: str) -> dict[str, str]:
    """Name of each table that may stand inside `section` -> its section ("recipe" -> "formula.recipe")."""
    start = f"{section}." if section else ""
    inside = (other for other in SECTIONS if other and other.startswith(start) and other != section)
    return {other[len(start):]: other for other in inside if "." not in other[len(start):]}


def key_of(path: str) -> Key:
    """What the key at `path` takes; places in a list are left out ("feeds.2.rate" is "feeds.rate").

    KeyError for a path outside the table.
    """
    parts = [part for part in path.split(".") if not part.isdigit()]
    return SECTIONS[".".join(parts[:-1])][parts[-1]]
