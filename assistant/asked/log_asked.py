"""What a message asks of the log: "when did I switch her on", "did anyone give the noon meds", "is it running or not".

It is such a question where the act and its thing are of feeding and no other word stands there ("when did the fever
start" holds one): knowledge/log_asked_en.toml, [whole].
"""

from __future__ import annotations

import re
from functools import cache

from assistant.asked.plan_asked import of_a_sign
from knowledge.library import table

ACTS = "acts"  # what a look into the log is about: what was done
RUNNING = "running"  # ... whether the feed runs
MOST = 14  # words of such a question: more of them tell a story
LEADS = r"(?:(?:sorry|ok|okay|right|so|and|hi|hey|please|pls|um|uh|er|oh|wait|love|quick one)[ ,.]+)*"
UNSURE = (
    r"(?:(?:i )?(?:can'?t|cannot|cant|don'?t|dont|didn'?t|never) (?:remember|recall|know|think|see)|i forg[eo]t|forgot|"
    r"(?:i'?ve |i have )?(?:no (?:idea|clue|notion)|lost track(?: of)?)|not sure|any idea|d'?you know|do you know|"
    r"can you (?:tell me|see|check)|tell me|check|remind me)(?: of)? "
)


@cache
def _shapes() -> tuple[tuple[str, re.Pattern[str]], ...]:
    w = table("log_asked_en")["whole"]
    person, thing, small = w["person"], rf"(?: {w['thing']}\b)", rf"(?: {w['small']}\b)"
    between = rf"(?: {w['small']}\b| {w['thing']}\b)*"
    when, done, state = w["when"], w["done"], w["state"]
    head = rf"{LEADS}(?:{UNSURE})?"
    past = rf"(?:(?: was| were| did| has| have| had)(?: {person})?| {person}(?:'ve|'d)?)"
    or_not = rf"(?: is| it| did|{small}| {w['do']}| {state}| off)*"
    lately = r"(?=.*\b(?:night|overnight|tonight|today|since|log)\b)"
    shapes = (
        (ACTS, rf"{head}{when}{past}{between} {done}{between}"),
        (ACTS, rf"{head}(?:who|whoever) {done}{between}"),
        (ACTS, rf"{head}{when} did(?: {person}){small}* {w['do']}{between}"),
        (ACTS, rf"{head}(?=.*\blast\b){when}(?: {person}){small}* {w['do']}{between}"),
        (ACTS, rf"{head}did you (?:note|write|log|record|mark|put){between}"),
        (ACTS, rf"{head}(?:did|has|have|had)(?: {person}){small}* (?:{w['do']}|{done}|been){between}"),
        (ACTS, rf"{head}(?:was|were|has|have)(?:{thing})+ (?:been |got )?(?:{done}|off|on|out){between}"),
        (ACTS, rf"{head}{lately}what(?: has|'s)? (?:happened|been happening|went on|been done){between}"),
        (ACTS, rf"{head}(?:last|the last)(?:{thing})+ {done}{between} {when}"),
        (ACTS, rf"{head}how (?:old|long) (?:is|has)(?:{thing})* (?:set|tubing|line)\b{between}(?: been{between})?"),
        (RUNNING, rf"{head}is the (?:pump|feed|drip) off{or_not}"),
        (RUNNING, rf"{head}(?:is|are)(?: {person}|{thing})+(?: still| even)? {state}{or_not}"),
    )
    return tuple((name, re.compile(rf"{shape}[ ?!.]*", re.IGNORECASE)) for name, shape in shapes)


PARTED = re.compile(r"\s*[,.;:(]\s+|\s+(?:or|and) (?=do i|should i|i )")


def of_the_log(text: str) -> str | None:
    """What of the log the message asks: ACTS, RUNNING, or None. Pieces that tell no sign may stand beside it."""
    pieces = [p for p in PARTED.split(text.strip()) if p.strip(" ?!.")]
    short = [p.strip() for p in pieces if len(p.split()) <= MOST]
    found = [next((name for name, shape in _shapes() if shape.fullmatch(p)), None) for p in short]
    asked = [name for name in found if name is not None]
    beside = [p for p, name in zip(short, found, strict=True) if name is None]
    told_of_a_sign = any(of_a_sign(p) for p in beside)
    return asked[0] if asked and len(short) == len(pieces) and not told_of_a_sign else None
