"""Paths of XML and JSON in a dictionary. The escapes are those of RFC 6901, section 3."""

from __future__ import annotations

import pytest

from vault.model.export_dialect import ExportDialect
from vault.model.record_path import place_path, root_path


def names(path: str) -> list[str]:
    return [step.name for step in place_path(path).steps]


@pytest.mark.parametrize(
    ("path", "parts"),
    [
        ("Value/@unit", ["Value", "@unit"]),
        (".", []),
        ("..", []),
        ("../../@axis", ["@axis"]),
        ("Speed [m/s]", ["Speed [m/s]"]),
        ("a~1b/c~0d/~01", ["a/b", "c~d", "~1"]),
        ("~key", ["~key"]),
        ("[odd", ["[odd"]),
    ],
)
def test_a_path_is_names_between_slashes(path: str, parts: list[str]) -> None:
    assert names(path) == parts


def test_dots_at_the_begin_go_up() -> None:
    assert place_path("../../@axis").up == 2
    assert (place_path("..").up, place_path(".").up) == (1, 0)


def test_a_name_is_chosen_by_what_it_says() -> None:
    (step,) = place_path("Field[Key/@name=m/s]").steps
    assert step.name == "Field"
    assert step.where == (place_path("Key/@name"), "m/s")


def test_lists_and_objects_to_go_through_stand_behind_a_name() -> None:
    assert [step.into for step in root_path("axes[]/groups{}{}").steps] == [("[]",), ("{}", "{}")]
    assert root_path("[]/p").steps[0].name == ""


@pytest.mark.parametrize(
    "path", ["", "/", "a/", "/a", "a//b", "a/../b", "a/.", "a/[]", "/".join("a" * 51)]
)
def test_what_is_no_path_is_told(path: str) -> None:
    with pytest.raises(ValueError, match=r"path|step|begin"):
        place_path(path)


@pytest.mark.parametrize("path", [".", "..", "../a"])
def test_a_record_is_named_from_the_root(path: str) -> None:
    with pytest.raises(ValueError, match="does not begin at the root"):
        root_path(path)


def test_a_text_within_a_record_is_one_place() -> None:
    with pytest.raises(ValueError, match="many places"):
        place_path("values[]")


@pytest.mark.parametrize(
    ("key", "change"),
    [
        ("record", {"record": "../P"}),
        ("record", {"record": ""}),
        ("value", {"columns": {"code": "@id", "value": "a//b"}}),
        ("Drive/", {"nameplate": {"Drive/": "serial"}}),
        ("column", {"channel": {"column": "a/"}}),
        ("channel", {"channel": {"section": "[{n}]"}}),
    ],
)
def test_a_dictionary_with_a_bad_path_is_refused_at_its_key(
    key: str, change: dict[str, object]
) -> None:
    usual = {"format": "records", "record": "D/P", "columns": {"code": "@id", "value": "."}}
    with pytest.raises(ValueError, match=r"path|places|begin|step") as caught:
        ExportDialect.model_validate(usual | change)
    assert key in str(caught.value.errors()[0]["ctx"]["error"].path)  # type: ignore[attr-defined]
