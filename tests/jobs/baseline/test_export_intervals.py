"""When exports of many axes are due. Axes and their records are invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.export_intervals import set_export_every
from vault.jobs.baseline.many_axes import approve_many
from vault.jobs.records.edit import set_axis
from vault.jobs.verify.verify import verify
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
HEAD = "schema: axisvault/axis/1\n"
AXES = ["m1/belt", "m1/lift", "m2/lift"]


@pytest.fixture
def three(vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]) -> Vault:
    for axis in AXES:
        take(export_text(serial=axis), to=axis)
    return vault


def written(vault: Vault, axis: str) -> str:
    return (vault.read(layout.axis_file(Address.parse(axis))) or b"").decode()


def test_all_axes_get_it_with_a_commit_each_and_the_others_are_told(
    three: Vault, tmp_path: Path, git: Callable[..., str]
) -> None:
    path = tmp_path / "axis.yaml"
    path.write_text("schema: axisvault/axis/1\nexport_every: &e 12 months\ntitle: *e\n")
    set_axis(three, Address.parse("m1/belt"), path, BY)
    before = three.tip
    found = set_export_every(three, AXES, "30 days", BY)
    assert [axis.axis for axis in found.refused] == ["m1/belt"]
    assert [axis.axis for axis in found.changed] == ["m1/lift", "m2/lift"]
    subjects = git("log", "--reverse", "--format=%s", f"{before}..main").splitlines()
    assert subjects == [f"{axis}: an export is due every 30 d" for axis in AXES[1:]]
    due = {
        axis.axis: (axis.due - axis.taken_at).days
        for axis in drift(three)
        if axis.due and axis.taken_at
    }
    assert due["m1/lift"] == due["m2/lift"] == 30
    assert due["m1/belt"] > 300, "as it was"
    assert verify(three).ok


def test_an_axis_that_has_it_is_not_written_again(three: Vault) -> None:
    set_export_every(three, AXES, "30 days", BY)
    before = three.tip
    found = set_export_every(three, AXES, "30 d", BY)
    assert len(found.already) == 3
    assert three.tip == before


def test_looking_writes_no_interval(three: Vault) -> None:
    before = three.tip
    assert len(set_export_every(three, AXES, "30 days", BY, looks_only=True).changed) == 3
    three.refresh()
    assert three.tip == before


@pytest.mark.parametrize("text", ["", "soon", "0 days", "3 mm", "-1 h"])
def test_what_is_no_interval_is_refused(three: Vault, text: str) -> None:
    with pytest.raises(WrongUsage):
        set_export_every(three, AXES, text, BY)


def test_another_interval_leaves_a_baseline_the_one_it_was(three: Vault) -> None:
    approve_many(three, AXES, BY, "accepted")
    set_export_every(three, AXES, "30 days", BY)
    assert len(approve_many(three, AXES, BY, "again").already) == 3
