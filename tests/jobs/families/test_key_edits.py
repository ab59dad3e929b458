"""Keys added to the text of a dictionary: what stands there stays as it is."""

from decimal import Decimal

import pytest

from vault.jobs.families.key_edits import with_keys
from vault.model.errors import Unreadable
from vault.store.files.edited_files import read_family

# An invented family.
FLOW = """\
schema: axisvault/family/1
name: hazel
title: Hazel (invented)
export: {format: delimited, columns: {code: Code, value: Value}}
parameters:
  lim/lag: {name: Lag, unit: mm}  # looked at
  "0x6065": {name: Window, range: [0, 5]}
"""
BLOCK = """\
schema: axisvault/family/1
name: hazel
title: Hazel (invented)
export: {format: delimited, columns: {code: Code, value: Value}}
parameters:
  lim/lag:
    name: Lag
    unit: mm  # looked at

  # the next one
  "0x6065":
    name: Window
    choices:
      0: a
"""


def test_a_key_goes_behind_the_last_one_and_comments_stay() -> None:
    text = with_keys(FLOW.encode(), "a", {"lim/lag": {"range": [Decimal("0.10"), None]}}).decode()
    assert "  lim/lag: {name: Lag, unit: mm, range: [0.1, null]}  # looked at\n" in text
    assert text.replace(", range: [0.1, null]", "") == FLOW


def test_in_block_style_it_gets_a_line_of_its_own() -> None:
    added = {"lim/lag": {"access": "ro"}, "0x6065:00": {"volatile": True}}
    text = with_keys(BLOCK.encode(), "a", added).decode()
    assert "    unit: mm  # looked at\n    access: ro\n\n  # the next one\n" in text
    assert text.endswith("      0: a\n    volatile: true\n")
    assert text.replace("    access: ro\n", "").replace("    volatile: true\n", "") == BLOCK
    family = read_family(text.encode(), "a")
    assert family.parameters["lim/lag"].access == "ro"
    assert family.parameters["0x6065:00"].volatile


def test_what_a_parameter_has_already_is_kept() -> None:
    added = {"0x6065:00": {"range": [1, 2], "default": "No: not"}}
    text = with_keys(FLOW.encode(), "a", added).decode()
    assert '{name: Window, range: [0, 5], default: "No: not"}' in text


def test_windows_line_ends_and_a_mark_of_the_encoding_stay() -> None:
    content = b"\xef\xbb\xbf" + BLOCK.replace("\n", "\r\n").encode()
    text = with_keys(content, "a", {"lim/lag": {"choices": {0: "Off", 1: "On"}}})
    assert text.startswith(b"\xef\xbb\xbf")
    assert b'    choices: {0: "Off", 1: "On"}\r\n' in text
    assert b"\n" not in text.replace(b"\r\n", b"")


def test_a_dictionary_in_which_a_mapping_is_shared_is_left_to_people() -> None:
    shared = FLOW.replace("{name: Lag, unit: mm}", "&a {name: Lag, unit: mm}")
    shared = shared.replace("{name: Window, range: [0, 5]}", "*a")
    with pytest.raises(Unreadable, match="by hand"):
        with_keys(shared.encode(), "a", {"lim/lag": {"access": "ro"}})
