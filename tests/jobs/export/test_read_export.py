"""Which node id counts for an export, and what is kept of it. Invented data."""

from __future__ import annotations

import pytest

from vault.jobs.export.read_export import read_export, refers_to_node

OBJECT = "[2010]\nParameterName=Tuning\nDataType=0x0007\nAccessType=rw\nParameterValue=6\n"
NODE = "[1400]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nParameterValue=$NODEID+0x200\n"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-16-le", "utf-16-be"])
def test_a_value_that_refers_to_the_node_is_seen_in_every_encoding(encoding: str) -> None:
    assert refers_to_node((OBJECT + NODE).encode(encoding))
    assert refers_to_node((OBJECT + NODE).lower().encode(encoding))
    assert not refers_to_node(OBJECT.encode(encoding))


@pytest.mark.parametrize(("text", "kept"), [(OBJECT, None), (OBJECT + NODE, 5)])
def test_a_node_id_is_kept_only_where_a_value_refers_to_it(text: str, kept: int | None) -> None:
    assert read_export(text.encode(), "a.dcf", node_id=5).node_id == kept


def test_wide_text_is_read_with_the_node_id_that_is_given() -> None:
    export = read_export((OBJECT + NODE).encode("utf-16"), "a.dcf", node_id=5)
    assert export.parameters["0x1400:00"].raw == 0x205
