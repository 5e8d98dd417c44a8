"""The page's list of what can be wrong holds every grave card once, and its buttons name walk-throughs there are."""

from __future__ import annotations

from collections.abc import Iterator

from knowledge.library import Fault, Shelf, nearest

FILE = "page_en.toml"
GRAVE = ("emergency", "urgent")


def check(shelf: Shelf) -> Iterator[Fault]:
    if FILE not in shelf.names():
        return
    page, cards, guides = shelf.read(FILE), shelf.folder("cautions"), shelf.folder("guides")
    listed = [name for group in page["wrong"]["groups"] for name in group["cards"]]
    for name in sorted(set(listed)):
        if name not in cards:
            yield Fault(FILE, "wrong.groups", f'names the card "{name}", which is not there', nearest(name, cards))
        if listed.count(name) > 1:
            yield Fault(FILE, "wrong.groups", f'names the card "{name}" twice', "keep one")
    for name, card in cards.items():
        if card.get("level") in GRAVE and name not in listed:
            yield Fault(FILE, "wrong.groups", f'lacks the card "{name}" ({card["level"]})', "put it in a group")
    for name in page["guides"]["says"]:
        if name != "feed" and name not in guides:
            yield Fault(FILE, f"guides.says.{name}", "is no walk-through", nearest(name, guides))
