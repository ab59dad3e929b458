"""Which file of two copies is kept."""

from __future__ import annotations

import pytest

from vault.store.files.three_way import three_way

OLD, HERE, THERE = "old", "here", "there"
CASES = [  # states in common, here, there: what is taken from there ("-" nothing, "?" to decide)
    ([OLD], OLD, OLD, "-"),
    ([OLD], HERE, OLD, "-"),
    ([OLD], OLD, THERE, THERE),
    ([OLD], HERE, THERE, "?"),
    ([OLD], HERE, HERE, "-"),
    ([OLD], None, OLD, "-"),
    ([OLD], OLD, None, None),
    ([OLD], None, THERE, "?"),
    ([OLD], HERE, None, "?"),
    ([None], None, THERE, THERE),
    ([None], HERE, None, "-"),
    ([None], HERE, THERE, "?"),
    ([OLD, HERE], HERE, THERE, "?"),  # two states in common, and they do not agree
    ([OLD, OLD], OLD, THERE, THERE),
]


@pytest.mark.parametrize(("bases", "here", "there", "wanted"), CASES)
def test_what_one_side_changed_is_taken_and_what_both_did_is_to_be_decided(
    bases: list[str | None], here: str | None, there: str | None, wanted: str | None
) -> None:
    def files(blob: str | None) -> dict[str, str]:
        return {} if blob is None else {"a": blob}

    found = three_way([files(base) for base in bases], files(here), files(there))
    if wanted == "?":
        assert (found.taken, found.conflicts) == ({}, ("a",))
    else:
        assert (found.taken, found.conflicts) == ({} if wanted == "-" else {"a": wanted}, ())
