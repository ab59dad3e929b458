"""What is wrong with a file that people edit is said in our words, and all of it. All invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import Outcome
from tests.sweeps import part_of
from vault.model.axis import AxisRecord
from vault.model.errors import Unreadable
from vault.store.files.edited_files import read_axis, read_watch_rules
from vault.store.files.known_keys import known_keys
from vault.store.vault import Vault

HEAD = "schema: axisvault/axis/1\n"


def refused(text: str) -> Unreadable:
    """What an axis.yaml is refused with."""
    with pytest.raises(Unreadable) as caught:
        read_axis(f"{HEAD}{text}\n".encode(), "axis.yaml")
    return caught.value


MOVE_KEYS = "keys here: distance, speed, acceleration, deceleration, load, wait"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("duty: {cycle: 4 s, moves: [{distance: 3 mm, pause: 1 s}]}",
         f"duty.moves.0.pause: no such key; {MOVE_KEYS}"),
        ("duty: {cycle: 4 s, moves: [{distance: 3 mm, speeed: 1 s}]}",
         f"duty.moves.0.speeed: no such key; did you mean speed? {MOVE_KEYS}"),
        ("duty: 4 s", "duty: takes keys below it: cycle, moves, rms_force"),
        ("duty: {cycle: 4 s, moves: 300 mm}",
         "duty.moves: takes a list, in [ ] or each line after a -"),
        ("mechanics: {lead: 20 mm}", "mechanics.kind: is missing"),
        ("mechanics: {kind: screw}", "mechanics.kind: 'screw' is none of"),
        ("encoder: {holding_torque: 4 N*m}",
         "encoder.holding_torque: no such key; it belongs under brake:; keys"),
        ("margins: {2: 1}", "margins.2: is no name"),
        ("margins: {hold: much}", "margins.hold: 'much' is no number"),
        ("margins: {hold: 0}", "margins.hold: 0 is not greater than 0"),
        ("nameplate: {drive: [1]}", "nameplate.drive: takes a text, a number, true or false"),
        ("nameplate: {drive: {a: 1}}", "nameplate.drive: takes a text, a number, true or false"),
        ("force_protects: perhaps", "force_protects: takes true or false"),
        ("title: 4", "title: takes a text; a number in quotation marks is one"),
        ("encoder: {multi_turn_bits: many}", "encoder.multi_turn_bits: 'many' is no whole number"),
        ("encoder: {single_turn_bits: 99}", "encoder.single_turn_bits: 99 is more than 64"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_words_with_what_would_be_right(text: str, message: str) -> None:
    assert refused(text).message.startswith(message)


def test_every_problem_is_told_once_with_its_line() -> None:
    found = refused("nameplate: {drive: [1]}\nmechanics:\n  kind: screw\n  mass: 4 kg\nduty: 4 s")
    assert [(p.line, p.text) for p in found.problems] == [
        (2, "nameplate.drive"), (4, "mechanics.kind"), (5, "mechanics.mass"), (6, "duty"),
    ]  # fmt: skip
    assert found.message.endswith("(and 3 more problems)")


def test_the_command_line_shows_them_all(
    vault: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    file = tmp_path / "ram.yaml"
    file.write_text(f"{HEAD}mechanics:\n  kind: screw\n  mass: 4 kg\nduty: 4 s\n")
    told = cli("axis", "set", "press/ram", file).stderr
    assert "line 3: mechanics.kind: 'screw' is none of" in told
    assert "line 4: mechanics.mass: no such key; keys here: kind, lead" in told
    assert "line 5: duty: takes keys below it" in told


def test_a_rule_of_a_folder_is_told_alike() -> None:
    with pytest.raises(Unreadable, match=r"rules\.0\.folder: is missing"):
        read_watch_rules(b"schema: axisvault/watch/1\nrules:\n  - to: m1/lift\n", "rules.yaml")


scalars = st.one_of(st.integers(), st.text(max_size=5), st.booleans(), st.none(), st.floats(0, 9))
values = st.recursive(
    scalars,
    lambda inner: st.one_of(
        st.lists(inner, max_size=2), st.dictionaries(st.text("ab", max_size=2), inner, max_size=2)
    ),
    max_leaves=4,
)
keys = st.sampled_from([key for key in known_keys(AxisRecord, ()) if key != "schema"])


@settings(deadline=None, max_examples=part_of(200, 2))
@given(st.dictionaries(keys, values, max_size=4))
def test_no_sentence_is_that_of_a_library(record: dict[str, Any]) -> None:
    text = json.dumps({"schema": "axisvault/axis/1", **record})  # YAML as well
    try:
        read_axis(text.encode(), "axis.yaml")
    except Unreadable as error:
        for problem in error.problems:
            for foreign in ("Input", "Field", "Extra", "valid ", "instance of", "match pattern"):
                assert foreign not in problem.reason
