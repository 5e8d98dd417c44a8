"""Station 5, the sharing out: which number that was said is meant for which slot, so that the words speak best for all.

Each pair of slot and number is scored once (`_fit`); the best sharing of the whole is then chosen (`share_out`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal

from assistant.clauses.false_starts import broken_off
from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.in_place_of import in_place_of
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Want, measure

NOT_MEANT = 2.0  # as noise: said to be another number's place ("125 rather than 110"), a year, somebody's age
FITS = 0.2  # a bare number needs at least this much said for a role
WITH_UNIT = 1.0  # what a spoken unit is worth beside the words around it
MOST_BESIDE_A_CLOCK = 400  # a number above this that can be a clock time is one
NEAR_NOW = 60  # minutes: further from the clock than this, "it's two fifty" does not say what time it is
PLAINLY = 0.7  # an amount is said to be one
FAR_BELOW, FAR_ABOVE = Decimal("0.2"), 5  # times an ordered rate: beyond, a bare number is hardly a rate
OF_WATER = frozenset({"flush", "goal"})
CLOCK_ROLES = ("start", "finish", "opened", "last_done", "clock_now")
OF_THE_BAG = ("full", "gone", "left", "empty", "used", "remaining", "of the bag", "still", "in the bag", "of it left")


def share_out(
    wants: Mapping[str, Want], spoken: Iterable[Spoken], night: Night, favours: str | None
) -> dict[str, Spoken]:
    """Each slot with the number that is meant for it; a slot that no number fits is left out.

    `favours` is the slot that was asked for: a bare number is meant for it.
    """
    numbers = in_place_of(tuple(spoken), night)
    fits = [
        (name, [(i, fit) for i, n in enumerate(numbers) if (fit := _fit(name, want, n, night, favours, numbers)) > 0])
        for name, want in wants.items()
    ]
    best: tuple[float, dict[str, int]] = (0.0, {})
    for total, chosen in _sharings(fits, frozenset()):
        if total > best[0]:
            best = (total, chosen)
    return {name: numbers[index] for name, index in best[1].items()}


def _sharings(
    fits: list[tuple[str, list[tuple[int, float]]]], taken: frozenset[int]
) -> Iterator[tuple[float, dict[str, int]]]:
    """Every way to share the numbers out, with its total score; no number goes to two slots."""
    if not fits:
        yield 0.0, {}
        return
    (name, scored), rest = fits[0], fits[1:]
    yield from _sharings(rest, taken)
    for index, score in scored:
        if index not in taken:
            for total, chosen in _sharings(rest, taken | {index}):
                yield score + total, {name: index, **chosen}


def _fit(
    name: str, want: Want, spoken: Spoken, night: Night, favours: str | None, among: tuple[Spoken, ...] = ()
) -> float:
    """How well a number fits a slot; 0 where it cannot."""
    reading = reading_for(want, spoken, name, favours)
    if reading is None or not _within(want, reading):
        return 0.0
    off_clock = not _could_be_now(spoken, night, reading)  # "its two fifty" at seven in the evening is no time of day
    if off_clock and want.roles == ("clock_now",):
        return 0.0
    words = max((spoken.roles.get(role, 0.0) for role in want.roles), default=0.0)
    if spoken.roles.get("noise", 0.0) >= NOT_MEANT or broken_off(spoken.roles):
        return 0.0
    others = (role for role in spoken.roles if role not in want.roles and not (off_clock and role == "clock_now"))
    rival = max((spoken.roles[role] for role in others), default=0.0)
    of_before = want.kind == "time" and want.bare  # a length of time told bare: "and for eight?"
    alone = want.kind == "volume" and len(among) == 1 and not beside("of_the_pump").search(
        f"{spoken.before} # {spoken.after}")  # "it's sitting on 410", where what is in the bag was asked
    meant = name == favours and (words >= rival - 0.6 or of_before or alone)  # "and at 60?": a rate, whatever came last
    asked = (1.0 if meant else 0.0) + _same_as_planned(want, reading, night)
    asked += _by_its_amount(want, reading, spoken, night)
    if not asked and _about_something_else(want, reading, spoken, words):
        return 0.0
    other_time = max((spoken.roles.get(r, 0.0) for r in CLOCK_ROLES if r not in want.roles), default=0.0)
    if want.kind == "clock" and spoken.roles.get("event", 0.0) > 0.9 and "finish" not in want.roles:
        return 0.0  # "the bus is at ten past": only what must be finished by then looks at it
    if want.kind == "clock" and spoken.roles.get("held_against", 0.0) > 0.9:
        return 0.0  # "still good at six": what the answer is held against
    if spoken.roles.get("water_given", 0.0) > 0.9 and want.kind == "volume" and not OF_WATER & set(want.roles):
        return 0.0  # "a 40 mL flush": no formula
    if spoken.roles.get("reach", 0.0) > 0.9:
        return 0.0  # an amount that is still to be reached: asked about
    if spoken.roles.get("chore", 0.0) > 0.9 and "off" not in want.roles:
        return 0.0  # "fifteen minutes to wash up": no time that a feed runs
    if want.roles == ("clock_now",) and words < 0.35:
        return 0.0  # "the alarm is for 6:30" does not say what time it is
    digits = spoken.amount.text.isdecimal() and len(spoken.amount.text) >= 3  # "300", "915"
    unnamed = (reading is not spoken.amount.readings[0] or digits) and words < 0.35  # "runs one ten": rather a number
    if want.kind == "clock" and not asked and (unnamed or words < other_time - 0.6):
        return 0.0  # "gone in by 3": no start
    if reading.kind == "percent" and want.kind == "volume" and not spoken.after.startswith(OF_THE_BAG):
        return 0.0  # "84 % water" is no amount in the bag
    if reading.kind == want.kind or (want.kind == "volume" and reading.kind in ("share", "percent")):
        first = reading is spoken.amount.readings[0] or asked  # "one ten" is a number first, a clock time second
        words -= 0.5 * spoken.roles.get("event", 0.0) if want.kind == "clock" else 0.0
        return (WITH_UNIT if first else 0.2) + words - 0.3 * max(rival, 0.0) + asked - want.shy
    if want.kind == "volume" and not asked and words < PLAINLY and _an_ordered_rate(reading, night):
        return 0.0  # "the forenoon one, 110": the pump's rate, no amount
    if _rather_a_clock(want, reading, spoken, words, night):
        return 0.0
    if not asked and _no_rate(want, reading, spoken, words, night):
        return 0.0
    fit = words + asked + _likely(want, reading, night) - want.shy
    return fit if fit >= FITS and (words >= rival - 0.6 or asked) else 0.0


def _about_something_else(want: Want, reading: Reading, spoken: Spoken, words: float) -> bool:
    """Do the words beside a number keep it from a slot that nobody asked for?"""
    noise = spoken.roles.get("noise", 0.0)
    return (
        (noise > 0.9 and noise >= words - 0.6)
        or (want.told and words < 0.5)
        or (reading.kind == "share" and not reading.unit and want.kind == "volume" and words < 0.35)
    )


def _rather_a_clock(want: Want, reading: Reading, spoken: Spoken, words: float, night: Night) -> bool:
    """ "At nine fifteen" is a time, not 915; "volume thirteen forty four" is the plan's 1344."""
    clock = max((spoken.roles.get(role, 0.0) for role in CLOCK_ROLES), default=0.0)
    if words >= 0.9 and (clock < 0.5 or reading.value in night.ordered_volumes):
        return False  # "he only got 900 last night"
    return (
        want.kind in ("rate", "volume")
        and spoken.reading("clock") is not None
        and Decimal(reading.value) > MOST_BESIDE_A_CLOCK
        and words < 1.5
    )


def _an_ordered_rate(reading: Reading, night: Night) -> bool:
    """A bare number that the plan has as a pump's rate, and not as an amount."""
    rates = [f.rate for f in night.feeds if f.rate is not None and f.method == "pump"]
    ordered = any(reading.value == rate.magnitude for rate in rates)
    return reading.kind == "number" and ordered and reading.value not in night.ordered_volumes


def _no_rate(want: Want, reading: Reading, spoken: Spoken, words: float, night: Night) -> bool:
    """ "They allow six", "tablets at six": a bare number far from every ordered rate, and not plainly called one."""
    if want.kind != "rate" or (words >= 0.9 and spoken.reading("clock") is None):
        return False
    ordered = night.ordered_rates
    return bool(ordered) and not any(FAR_BELOW < Decimal(reading.value) / r < FAR_ABOVE for r in ordered)


def _could_be_now(spoken: Spoken, night: Night, taken: Reading) -> bool:
    reading = taken if taken.kind == "clock" else spoken.reading("clock")
    if reading is None:
        return False
    here = night.now.hour * 60 + night.now.minute
    return min((int(reading.value) - here) % 720, (here - int(reading.value)) % 720) <= NEAR_NOW


def _same_as_planned(want: Want, reading: Reading, night: Night) -> float:
    if want.planned is None or reading.kind in ("share", "percent", "clock"):
        return 0.0
    try:
        return 0.6 if measure(want.kind, reading, night) == want.planned else 0.0
    except (TypeError, ValueError):
        return 0.0


def _by_its_amount(want: Want, reading: Reading, spoken: Spoken, night: Night) -> float:
    """ "The 220 one": a feed of the plan, called by its amount."""
    called = spoken.before.endswith(("the", "his", "her", "my", "their", "that"))
    called = called and spoken.after.startswith(("one", "feed"))
    return 0.6 if called and "total" in want.roles and reading.value in night.ordered_volumes else 0.0


def _likely(want: Want, reading: Reading, night: Night) -> float:
    """A little weight from what the plan makes likely for a number without a unit; never enough by itself."""
    value = Decimal(reading.value)
    if want.kind == "rate":
        return 0.3 if any(Decimal("0.5") <= value / r <= Decimal("1.7") for r in night.ordered_rates) else 0.0
    if want.kind == "volume":
        return 0.35 if value >= 100 else 0.1 if value >= 20 else -0.4 if value >= 10 else -1.5
    return 0.0


def reading_for(want: Want, spoken: Spoken, name: str, favours: str | None) -> Reading | None:
    """The reading of a number that a slot would take: of its kind, else a bare number where the slot allows one."""
    kinds = {"volume": ("volume", "share", "percent")}.get(want.kind, (want.kind,))
    found = spoken.reading(*kinds)
    bare = spoken.reading("number")
    if want.kind == "clock":
        whole_hour = bare is not None and 1 <= bare.value <= 12 and bare.value == int(bare.value)
        named_now = want.roles == ("clock_now",) and not spoken.after and beside("now_before").search(spoken.before)
        if found is None and bare is not None and whole_hour and (name == favours or named_now):
            return Reading("clock", int(bare.value) * 60, "12h")  # "no, eight": where a time was asked or corrected
        return found
    return found or (bare if want.bare else None)


def _within(want: Want, reading: Reading) -> bool:
    if not isinstance(reading.value, Decimal):
        return True
    return reading.value >= want.least and (want.most is None or reading.value <= want.most)
