"""Classes of typical changes, as a practitioner would read them: `classes.yaml`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from tests.behaviour.axes import AXES, changed
from vault.meaning.consequences import CONSEQUENCES, rank

ROWS: list[dict[str, Any]] = YAML(typ="safe").load(Path(__file__).with_name("classes.yaml"))


def _id(row: dict[str, Any]) -> str:
    what = ", ".join(
        f"{role} {before} to {after}" for role, (before, after) in row["change"].items()
    )
    return f"{row['axis']}: {what}"


def test_there_are_forty_on_three_axes() -> None:
    assert len(ROWS) >= 40
    assert {row["axis"] for row in ROWS} == set(AXES)
    assert all(row["class"] in CONSEQUENCES and row["why"] for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=_id)
def test_a_change_is_of_its_class(row: dict[str, Any]) -> None:
    after = {role: tuple(pair) for role, pair in row["change"].items()}
    found = changed(row["axis"], **after)
    worst = min((c.consequence for c in found.news), key=rank)
    told = [(c.consequence, c.explanation) for c in found.news]
    assert worst == row["class"], (row["why"], told)
