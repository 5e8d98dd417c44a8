"""The feed that is meant by an amount or an hour told, where none is named: "290 of 768", "her 11 am feed"."""

from __future__ import annotations

from assistant.gather._by_its_start import by_its_start
from assistant.household.care_plan import Feed
from assistant.night import feed_volume
from assistant.numbers.wants import measure
from assistant.slots import Slots

PLAINLY = 0.9  # how plainly a time is said to be a start
AGAIN_AFTER = {"24h": 1440}  # minutes; 720 where the half of the day is not said


def by_its_numbers(slots: Slots) -> Feed | None:
    """ "290 of 768", "her 11 am feed": the one feed of that amount or time; None where there are several."""
    night = slots.night
    if night.feeds_named(slots.said.heard.text):
        return None
    told = [
        slots.used[n].value for n in ("total", "volume", "planned", "missed") if n in slots.spoken and n in slots.used
    ]
    late = next(
        (int(measure("time", r, night).m_as("min")) for s in slots.said.spoken
         if s.after.startswith("late") and (r := s.reading("time")) is not None), 0)
    timed = [
        c
        for s in slots.said.spoken
        if max(s.roles.get("noise", 0.0), s.roles.get("event", 0.0)) <= PLAINLY
        and not s.before.endswith((" by", " till", " until", " before"))  # an end
        if s.after.startswith(("feed", "one", "bolus", "bottle")) or s.roles.get("start", 0.0) >= PLAINLY
        or (not s.after and s.before.endswith((" his", " her", " my", " their")))  # "fills for his one o'clock"
        if (c := s.reading("clock")) is not None
    ]
    fits = [
        f
        for f in night.feeds
        if feed_volume(f) in told
        or any(f.start and (f.start.hour * 60 + f.start.minute - c.value + off) % AGAIN_AFTER.get(c.unit, 720) == 0
                                for c in timed for off in {0, late})
    ]
    return fits[0] if len(fits) == 1 else by_its_start(slots) if not fits else None
