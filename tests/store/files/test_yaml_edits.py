"""Keys of a record are edited one by one; everything else that people wrote stays."""

from __future__ import annotations

import pytest

from vault.model.errors import Unreadable
from vault.store.files.edited_files import NEW_AXIS
from vault.store.files.yaml_edits import with_edits

RECORD = b"""\
# Lift of line 1, measured on a Sunday.
schema: axisvault/axis/1
title: Lift   # as the crew says
mechanics:
  kind: ball_screw
  # the old screw had 16
  lead: 20.0 mm  # by the drawing
  gearbox: {motor: 2, output: 1}
motor: {inertia: 1.6 kg*cm^2, code: "AMO-1"}

cabinet:
    address_switches: "07"
"""


HEAD = "schema: axisvault/axis/1\n"


def edited(edits: dict[str, object], record: bytes = RECORD) -> str:
    return with_edits(record, edits, "axis.yaml").decode()


def test_a_value_changes_and_every_other_byte_stays() -> None:
    changed = edited({"mechanics": {"lead": "10 mm"}})
    assert changed == RECORD.decode().replace("20.0 mm", "10 mm")


def test_a_new_key_stands_below_the_last_of_its_section() -> None:
    changed = edited({"mechanics": {"stroke": "650 mm", "gearbox": {"motor": 4}}})
    assert "  gearbox: {motor: 4, output: 1}\n  stroke: 650 mm\nmotor:" in changed


def test_a_new_key_in_a_section_of_one_line_stands_in_that_line() -> None:
    changed = edited({"motor": {"rated_torque": "3.2 N*m"}})
    assert 'motor: {inertia: 1.6 kg*cm^2, code: "AMO-1", rated_torque: 3.2 N*m}' in changed


def test_a_new_section_stands_at_the_end() -> None:
    assert edited({"brake": {"fitted": True, "apply_time": "40 ms"}}).endswith(
        '"07"\nbrake:\n  fitted: true\n  apply_time: 40 ms\n'
    )


def test_a_key_that_is_taken_out_takes_its_line_and_no_comment_beside_it() -> None:
    changed = edited({"mechanics": {"lead": None}, "motor": {"inertia": None}})
    assert "lead" not in changed
    assert "# the old screw had 16" in changed
    assert 'motor: {code: "AMO-1"}' in changed


def test_a_section_of_which_nothing_stays_is_gone() -> None:
    changed = edited(
        {"cabinet": {"address_switches": None}, "motor": {"inertia": None, "code": None}}
    )
    assert "cabinet" not in changed
    assert "motor:" not in changed.replace("{motor:", "")


def test_a_record_with_the_line_ends_of_windows_keeps_them() -> None:
    changed = edited({"mechanics": {"stroke": "650 mm"}}, RECORD.replace(b"\n", b"\r\n"))
    assert changed.count("\r\n") == changed.count("\n") == RECORD.count(b"\n") + 1


def test_a_last_line_without_an_end_gets_one() -> None:
    assert edited({"note": "a: b"}, b"schema: axisvault/axis/1\ntitle: Lift").endswith(
        'title: Lift\nnote: "a: b"\n'
    )


def test_a_record_with_an_anchor_is_edited_by_hand() -> None:
    record = b"schema: axisvault/axis/1\nmotor: &m {code: X}\nnameplate: *m\n"
    with pytest.raises(Unreadable, match="by hand alone"):
        edited({"nameplate": {"drive": "Y"}}, record)


def test_a_record_of_which_nothing_is_said_gets_its_first_key() -> None:
    assert with_edits(NEW_AXIS, {"title": "Lift"}, "axis.yaml") == (
        b"schema: axisvault/axis/1\ntitle: Lift\n"
    )


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (HEAD.rstrip(), HEAD + "export_every: 30 days\n"),
        (
            HEAD + "export_every: 12 months  # by the insurer\ntitle: Lift  # the old one\n",
            HEAD + "export_every: 30 days  # by the insurer\ntitle: Lift  # the old one\n",
        ),
        (
            "{schema: axisvault/axis/1, export_every: 12 months}\n",
            "{schema: axisvault/axis/1, export_every: 30 days}\n",
        ),
        (
            "{schema: axisvault/axis/1}\n",
            "{schema: axisvault/axis/1, export_every: 30 days}\n",
        ),
    ],
)
def test_a_record_in_one_line_or_without_a_last_end_is_edited_too(before: str, after: str) -> None:
    assert edited({"export_every": "30 days"}, before.encode()) == after


@pytest.mark.parametrize(
    "text", [HEAD + "export_every: &e 12 months\ntitle: *e\n", "- a\n- b\n", "title: [\n"]
)
def test_what_cannot_be_edited_so_is_left_to_a_hand(text: str) -> None:
    with pytest.raises(Unreadable):
        edited({"export_every": "30 days"}, text.encode())
