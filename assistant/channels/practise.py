"""`bagside practise GUIDE`: the learner says each step before it is shown; settings drills; a page for the trainer."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterator
from difflib import get_close_matches

from assistant import word
from assistant.cards import GRAVE, card_record
from assistant.channels.sheet_command import Unusable, hand_over, night_of
from assistant.hear.plain import plain
from assistant.household.care_plan import Feed
from assistant.night import Night, feed_volume
from assistant.paper import print_page, sheet
from assistant.triage import triage
from assistant.walk import guide_choice, guides, practice
from assistant.walk.guide_amounts import ordered_rate
from assistant.walk.guides import Step
from assistant.walk.practice import Drill
from assistant.wording.show import show
from knowledge.library import table

SETTINGS = "settings"
Say = Callable[[str], None]
Hear = Callable[[str], str | None]  # asks with a prompt; None at the end of input


def main(
    what: str | None, plan: str | None, home: str | None, now: str | None, seed: int, out: str | None, feed: str | None
) -> int:
    """Practise until the end or "stop". 2 where there is nothing to practise or nowhere to write (said why)."""
    try:
        night = night_of(plan, home, now)
        if what is None:
            print("\n".join(_offer(night)))
            return 2
        if what == SETTINGS:
            made = _settings(night, seed, _ask, print, _feed(night, None, feed, "pump"))
        else:
            made = _steps(night, *_guide(night, what, feed), _ask, print)
        if out is not None:
            hand_over(made, out)
    except Unusable as fault:
        print(fault, file=sys.stderr)
        return fault.code
    return 0


def says(line: str, **facts: object) -> str:
    return str(table(practice.WORDS)["says"][line]).format(**facts)


def _ask(prompt: str) -> str | None:
    try:
        return input(prompt)
    except EOFError:
        return None


def fits(kind: str, said: str) -> bool:
    return re.fullmatch(table(practice.WORDS)["match"][kind], said.strip().lower().rstrip(".!")) is not None


# -- what to practise ---------------------------------------------------------------------------------------------


def fitting(night: Night) -> list[str]:
    """The guides that this plan can be led through."""
    methods, by = {f.method for f in night.feeds}, guide_choice.METHODS
    return [n for n in guides.names() if not guides.refusal_of(n, night) and (n not in by or by[n] in methods)]


def _offer(night: Night) -> Iterator[str]:
    yield says("which")
    for name in fitting(night):
        yield says("which_row", name=name, title=guides.guide(name)["title"])
    if any(f.method == "pump" and ordered_rate(night, f) is not None for f in night.feeds):
        yield says("which_row", name=SETTINGS, title=says("settings_title"))


def _guide(night: Night, what: str, feed: str | None) -> tuple[str, Feed | None]:
    if what not in guides.names():
        near = get_close_matches(what, [*guides.names(), SETTINGS], 3, 0.4) or fitting(night)[:3]
        raise Unusable(says("no_guide", found=what[:40], nearest=", ".join(near)))
    refused = guides.refusal_of(what, night)
    method = guide_choice.METHODS.get(what)
    if refused is not None:
        raise Unusable(word.Facts(night, {}).text(refused["text"]))
    if method is not None and not any(f.method == method for f in night.feeds):
        lines = guides.lines()
        raise Unusable(word.Facts(night, {"method": lines[method]}).text(lines["no_feed_text"]))
    return what, _feed(night, what, feed, method)


def _feed(night: Night, what: str | None, name: str | None, method: str | None) -> Feed | None:
    """The feed that is practised: named, or the only one of its kind. Raises Unusable where it is unsure."""
    mine = [f for f in night.feeds if method is None or f.method == method]
    if name is not None:
        found = [f for f in mine if f.name.lower() == name.lower()]
    else:
        found = list(guide_choice.feeds_of(what, night)) if what else mine
    if len(found) > 1 or (name is not None and not found):
        raise Unusable(says("which_feed", names=", ".join(f.name for f in mine)))
    return found[0] if found else None


# -- steps --------------------------------------------------------------------------------------------------------


def _steps(night: Night, name: str, feed: Feed | None, ask: Hear, say: Say) -> str:
    """The practice of one guide; gives the trainer's page."""
    steps, title = guides.steps_for(name, night, feed), guides.guide(name)["title"]
    named = guides.lines()["of_feed"].format(feed=feed.name) if feed and "method" in guides.guide(name) else ""
    say(says("hello", title=title, of_feed=named, count=len(steps)))
    marks: list[str] = []
    for at, step in enumerate(steps, 1):
        mark = _one_step(night, at, step, len(steps), ask, say)
        if mark is None:
            break
        marks.append(mark)
    good = marks.count("said")
    rest = [str(i) for i, mark in enumerate(marks, 1) if mark != "said"]
    say(says("end" if rest else "end_all", good=good, count=len(marks), rest=", ".join(rest)))
    say(says("no_certificate"))
    return _page(night, title, named, steps, marks)


def _one_step(night: Night, at: int, step: Step, count: int, ask: Hear, say: Say) -> str | None:
    """How far the learner said the step; None where they stopped."""
    said = ask(says("prompt", at=at, count=count))
    while said is not None and fits("why", said):
        say(says("why", why=step.why or guides.lines()["no_why"]))
        said = ask(says("prompt", at=at, count=count))
    if said is None or fits("stop", said):
        return None
    mark = "not_yet" if fits("pass", said) or not said.strip() else practice.heard_step(said, step)
    _danger(night, said, say, whole=mark == "not_yet")
    say(says(mark, amounts=", ".join(f"{n:f}" for n in practice.needed(step))))
    say(says("shown", at=at, text=step.text))
    return mark


def _danger(night: Night, said: str, say: Say, *, whole: bool) -> None:
    """Any words may tell of a real danger: its card comes first, its one line where they are the step as well."""
    alarms = [a for a in triage(plain(said), night) if a.level in GRAVE]
    if alarms:
        card = card_record(alarms[0].card, night, level=alarms[0].level)
        say(card["text" if whole else "speech"])
        say(says("danger"))


def _page(night: Night, title: str, named: str, steps: tuple[Step, ...], marks: list[str]) -> str:
    lines = table(practice.WORDS)["page"]
    rows = tuple(
        lines[marks[i]].format(text=step.text) if i < len(marks) else step.text for i, step in enumerate(steps)
    )
    boxes = [
        print_page.Box(lines["numbers"], (*sheet.feed_lines(night), *sheet.kit_lines(night)), "pairs", "top"),
        print_page.Box(lines["steps"], rows, "steps pairs", "bottom"),
    ]
    return _sheet(night, lines["title"].format(title=title, of_feed=named), boxes)


def _sheet(night: Night, title: str, boxes: list[print_page.Box]) -> str:
    lines, facts = table(practice.WORDS)["page"], sheet.heading_facts(night)
    made = facts.text(lines["made" if facts.has(["nickname", "issued"]) else "made_undated"])
    foot = [*sheet.number_lines(night), *sheet.plan_warnings(night), lines["foot"]]
    return print_page.page(title, made, boxes, foot, size="dense")


# -- settings -----------------------------------------------------------------------------------------------------


def _settings(night: Night, seed: int, ask: Hear, say: Say, feed: Feed | None) -> str:
    """The drills on the pump's numbers; gives the trainer's page."""
    rate, volume = (ordered_rate(night, feed), feed_volume(feed)) if feed else (None, None)
    if rate is None or volume is None:
        raise Unusable(says("no_pump"))
    given = practice.drills(rate, volume, seed)
    say(says("hello_settings", count=len(given), rate=_shown(night, rate), volume=_shown(night, volume)))
    rows, good = [], 0
    for at, drill in enumerate(given, 1):
        verdict = _one_drill(night, at, drill, len(given), ask)
        if verdict is None:
            break
        good += verdict == drill.right
        told = _verdict(night, drill)
        say(says("drill_good" if verdict == drill.right else "drill_bad", verdict=told))
        lines = table(practice.WORDS)["page"]
        rows.append(lines["said" if verdict == drill.right else "not_yet"].format(text=told))
    say(says("end_drills", good=good, count=len(rows)))
    say(says("no_certificate"))
    lines = table(practice.WORDS)["page"]
    boxes = [
        print_page.Box(lines["numbers"], (*sheet.feed_lines(night), *sheet.kit_lines(night)), "pairs", "top"),
        print_page.Box(lines["drills"], tuple(rows), "steps", "bottom"),
    ]
    return _sheet(night, lines["title"].format(title=says("settings_title"), of_feed=""), boxes)


def _one_drill(night: Night, at: int, drill: Drill, count: int, ask: Hear) -> bool | None:
    """Did the learner call it right? None where they stopped."""
    facts = _drill_facts(night, drill)
    said = ask(says("drill_heard" if "heard" in facts else "drill", at=at, count=count, **facts))
    while said is not None and not fits("stop", said):
        if fits("right", said) or fits("wrong", said):
            return fits("right", said)
        said = ask(says("drill_asks"))
    return None


def _verdict(night: Night, drill: Drill) -> str:
    return str(table(practice.WORDS)["slips"][drill.code]).format(**_drill_facts(night, drill))


def _drill_facts(night: Night, drill: Drill) -> dict[str, str]:
    """The drill's numbers as the pump would show them: unrounded, thousands without a comma."""
    units = {"rate": "mL/h", "plan_rate": "mL/h", "volume": "mL", "plan_volume": "mL"}
    plainly = {n: v if isinstance(v, str) else f"{v.normalize():f}" for n, v in drill.facts.items() if v is not None}
    return {n: f"{text} {units[n]}" if n in units else text for n, text in plainly.items()}


def _shown(night: Night, value: object) -> str:
    return guides.THOUSANDS.sub("", show(value, night.now))
