"""Differences in what is no parameter: nested records compared path by path."""

from copy import deepcopy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.meaning.changes import Surrounding
from vault.meaning.surroundings import surroundings


def test_equal_records_have_no_difference() -> None:
    record = {"nameplate": {"serial": "17"}, "cabinet": {"switch": 5}}
    assert surroundings(record, dict(record)) == ()


def test_a_difference_is_told_with_its_path_and_both_sides() -> None:
    left = {"mechanics": {"gearbox": {"motor": 4, "output": 1}}}
    right = {"mechanics": {"gearbox": {"motor": 5, "output": 1}}}
    assert surroundings(left, right) == (Surrounding("mechanics.gearbox.motor", 4, 5),)


def test_what_one_side_lacks_is_none_there() -> None:
    left, right = {"cabinet": {"a": 1}}, {"cabinet": {"b": "x"}}
    assert surroundings(left, right) == (
        Surrounding("cabinet.a", 1, None),
        Surrounding("cabinet.b", None, "x"),
    )


def test_differences_stand_in_the_order_of_their_paths() -> None:
    left = {"b": 1, "a": {"z": 1, "y": 1}}
    right = {"b": 2, "a": {"z": 2, "y": 2}}
    assert [found.path for found in surroundings(left, right)] == ["a.y", "a.z", "b"]


def test_records_with_little_in_common_are_still_compared_key_by_key() -> None:
    left = {"nameplate": {"serial": "1", "drive": "A", "motor": "M"}}
    right = {"nameplate": {"encoder": "E", "firmware": "2", "node_id": "3"}}
    paths = [found.path for found in surroundings(left, right)]
    assert paths == [
        f"nameplate.{key}" for key in sorted([*left["nameplate"], *right["nameplate"]])
    ]


def test_a_number_and_its_text_are_two_things() -> None:
    assert surroundings({"switch": 5}, {"switch": "5"}) == (Surrounding("switch", 5, "5"),)


def test_a_list_is_compared_place_by_place() -> None:
    assert surroundings({"a": [1, 2]}, {"a": [1, 3, 4]}) == (
        Surrounding("a.1", 2, 3),
        Surrounding("a.2", None, 4),
    )


@pytest.mark.parametrize("key", ["__hidden", "_x", "with.point", "root['a']", "'", ""])
def test_any_key_that_people_write_is_looked_at(key: str) -> None:
    found = surroundings({"cabinet": {key: 1}}, {"cabinet": {key: 2}})
    assert found == (Surrounding(f"cabinet.{key}", 1, 2),)


def test_a_setting_that_reads_not_present_is_a_setting() -> None:
    found = surroundings({"a": "not present"}, {"a": "fitted"})
    assert found == (Surrounding("a", "not present", "fitted"),)


keys = st.text(st.sampled_from("ab_"), min_size=1, max_size=3)
leaves = st.integers(0, 3) | st.text(st.sampled_from("xy"), max_size=2)
records = st.dictionaries(keys, leaves | st.dictionaries(keys, leaves, max_size=4), max_size=4)


@settings(deadline=None)
@given(records, records)
def test_a_side_turns_into_the_other_by_its_differences(
    left: dict[str, Any], right: dict[str, Any]
) -> None:
    turned = deepcopy(left)
    for found in surroundings(left, right):
        *above, last = found.path.split(".")
        place = turned[above[0]] if above else turned
        assert place.get(last) == found.left
        if found.right is None:
            del place[last]
        else:
            place[last] = found.right
    assert turned == right


@settings(deadline=None)
@given(records, records)
def test_the_other_way_round_the_sides_change_places(
    left: dict[str, Any], right: dict[str, Any]
) -> None:
    there, back = surroundings(left, right), surroundings(right, left)
    assert [(f.path, f.left, f.right) for f in there] == [(f.path, f.right, f.left) for f in back]
