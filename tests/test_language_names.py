"""A set of names kept by their hashes: each name its own place, a strange one nowhere."""

import pytest

from assistant.language.names import NOWHERE, Names

GIVEN = ("w:rinse", "b:how_long", "c:<rin", "k:breath_hard")


def test_each_name_has_the_place_it_was_given_in() -> None:
    names = Names(GIVEN)
    assert names.places(GIVEN) == [0, 1, 2, 3]
    assert names.known(("b:how_long", "w:never_said", "w:rinse")) == [1, 0]
    assert len(names) == len(GIVEN)


def test_a_strange_name_is_nowhere() -> None:
    names = Names(GIVEN)
    assert names.places(("w:never_said", "", "w:rinse")) == [NOWHERE, NOWHERE, 0]
    assert "w:never_said" not in names and "w:rinse" in names and 7 not in names


def test_a_name_given_twice_is_refused() -> None:
    with pytest.raises(ValueError, match="the same"):
        Names((*GIVEN, "w:rinse"))


def test_nothing_is_asked_of_an_empty_list() -> None:
    assert Names(GIVEN).places(()) == []
