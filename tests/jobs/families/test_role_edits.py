"""A role is written into a dictionary, and nothing else of the file is touched."""

from __future__ import annotations

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.conftest import ROOT
from vault.jobs.families.role_edits import comments, with_roles
from vault.model.errors import Unreadable, WrongUsage

WHO = "Mira Okafor, 2026-03-01"
TEXT = """\
# Drafted by somebody.
schema: axisvault/family/1
parameters:
  a: {name: "Größe 😀", suggest: following_error_window, type: DECIMAL}  # 0.83: its name
  b: {name: B, type: INTEGER8}
  c: {name: C, role: profile_velocity, suggest: homing_method}
  d:
    name: D   # the name
    # about its unit
    unit: mm
    suggest: profile_velocity  # 0.70: its unit
    type: INTEGER8
  "0x6065:00":
    name: "E"
    role: homing_method
  f: {name: F,
      role: homing_method,
      type: INTEGER8}
after: {b: {name: B}}
"""


def edited(said: dict[str, str | None], text: str = TEXT) -> str:
    return with_roles(text.encode(), "oak.yaml", said, WHO).decode()


def changed(text: str, before: str = TEXT) -> list[tuple[str, str]]:
    """Lines that differ, where their number is the same."""
    pairs = zip(before.splitlines(), text.splitlines(), strict=True)
    return [(old, new) for old, new in pairs if old != new]


def test_a_suggestion_becomes_a_role_and_the_reason_stays() -> None:
    ((_, line),) = changed(edited({"a": "following_error_window"}))
    assert line == (
        '  a: {name: "Größe 😀", role: following_error_window, type: DECIMAL}'
        f"  # 0.83: its name; role confirmed by {WHO}"
    )


def test_a_role_stands_behind_the_name_where_there_was_none() -> None:
    ((_, line),) = changed(edited({"b": "homing_method"}))
    assert line.startswith("  b: {name: B, role: homing_method, type: INTEGER8}  # role confirmed")


def test_a_role_in_a_block_is_changed_in_its_line() -> None:
    assert changed(edited({"d": "profile_velocity"})) == [
        (
            "    suggest: profile_velocity  # 0.70: its unit",
            f"    role: profile_velocity  # 0.70: its unit; role confirmed by {WHO}",
        )
    ]
    assert changed(edited({"0x6065:00": "position_gain"})) == [
        ("    role: homing_method", f"    role: position_gain  # role confirmed by {WHO}")
    ]


def test_no_role_takes_the_suggestion_away_and_says_who_said_so() -> None:
    text = edited({"a": None, "d": None})
    assert '  a: {name: "Größe 😀", type: DECIMAL}  # 0.83: its name; no role, says Mira' in text
    assert f"    name: D   # the name; no role, says {WHO}" in text
    assert "suggest: profile_velocity" not in text
    assert "    # about its unit\n    unit: mm\n    type: INTEGER8\n" in text


def test_both_a_role_and_a_suggestion_give_way_to_one_role_or_to_none() -> None:
    assert "c: {name: C, role: position_gain" in edited({"c": "position_gain"})
    text = edited({"c": None})
    assert YAML(typ="safe").load(text)["parameters"]["c"] == {"name": "C"}


def test_whoever_says_it_later_stands_there_alone() -> None:
    once = with_roles(TEXT.encode(), "oak.yaml", {"a": "homing_method"}, "Oda Reed, 2026-01-01")
    twice = edited({"a": "position_gain"}, once.decode())
    assert "Oda Reed" not in twice
    assert f"# 0.83: its name; role confirmed by {WHO}\n" in twice


def test_line_ends_marks_and_a_missing_last_line_end_stay() -> None:
    text = "\ufeffparameters:\r\n  a:\r\n    name: A\r\n  b: {name: B}"
    assert edited({"a": "homing_method", "b": "position_gain"}, text) == (
        f"\ufeffparameters:\r\n  a:\r\n    name: A\r\n    role: homing_method  # role confirmed by"
        f" {WHO}\r\n  b: {{name: B, role: position_gain}}  # role confirmed by {WHO}"
    )


def test_a_parameter_over_several_lines_keeps_them() -> None:
    assert changed(edited({"f": "position_gain"})) == [
        ("      role: homing_method,", "      role: position_gain,"),
        ("      type: INTEGER8}", f"      type: INTEGER8}}  # role confirmed by {WHO}"),
    ]


@pytest.mark.parametrize(
    "text",
    [
        "parameters:\n  a: &one {name: A}\n  b: *one\n",
        "base: &base {role: homing_method}\nparameters:\n  a: {<<: *base, name: A}\n",
    ],
    ids=["shared", "merged"],
)
def test_what_is_written_once_for_two_is_left_to_the_file(text: str) -> None:
    with pytest.raises(Unreadable, match="edited by hand alone"):
        edited({"a": None if "<<" in text else "position_gain"}, text)


def test_an_unknown_code_is_told_with_the_nearest() -> None:
    with pytest.raises(WrongUsage, match="no parameter '0x6064:00'; did you mean 0x6065:00"):
        edited({"0x6064:00": None})


def test_what_stands_behind_a_parameter_is_its_reason() -> None:
    assert comments(TEXT.encode()) == {"a": "0.83: its name", "d": "0.70: its unit"}


@pytest.mark.parametrize(
    "path", sorted((ROOT / "example_machines/families").glob("*.yaml")), ids=lambda path: path.stem
)
def test_the_dictionaries_of_the_demo_lose_nothing_by_an_edit(path: Path) -> None:
    """By the round-trip reader of ruamel.yaml (a reference library), comments included."""
    before, content = path.read_bytes(), path.read_bytes()
    codes = [str(code) for code in YAML(typ="safe").load(before)["parameters"]][::7]
    content = with_roles(before, path.name, dict.fromkeys(codes, "spare_role"), WHO)
    back = with_roles(content, path.name, dict.fromkeys(codes), WHO)
    for text in (content, back):
        now, then = round_trip(text), round_trip(before)
        for code, parameter in then["parameters"].items():
            if str(code) in codes:
                parameter.pop("role", None)
                assert now["parameters"][code].pop("role", None) in ("spare_role", None)
            assert dict(now["parameters"][code]) == dict(parameter)
        assert {k: v for k, v in now.items() if k != "parameters"} == {
            k: v for k, v in then.items() if k != "parameters"
        }
    own = [line for line in before.decode().splitlines() if line.strip().startswith("#")]
    assert [one for one in content.decode().splitlines() if one.strip().startswith("#")] == own


def round_trip(content: bytes) -> Any:
    return YAML(typ="rt").load(StringIO(content.decode()))
