"""The guard that reads the axes that the index names finds what it found when it read every axis.

The fleet is generated and invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.bench import bulk
from tests.conftest import BY
from tests.sweeps import part_of
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.intake.wrong_axis import wrong_axis
from vault.jobs.records.edit import add_family
from vault.model import roles
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.parameters_text import lines_text, parameter_lines, read_parameter_line
from vault.store.index import values
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

_AXES, _PARAMETERS = 24, 40


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    rows = bulk.parameters(_PARAMETERS)
    bulk.write_tree(folder / "exports", rows, _AXES, 3)
    (folder / "hazel.yaml").write_text(bulk.family_text(rows))
    with Vault.create(folder / "vault", "Works", BY) as vault:
        add_family(vault, folder / "hazel.yaml", BY)
        assert ingest_tree(vault, folder / "exports", BY).taken == _AXES * 3
    return folder / "vault"


@pytest.fixture(params=["all values", "values of some axes", "no values"])
def fleet(made: Path, tmp_path: Path, request: pytest.FixtureRequest) -> Iterator[Vault]:
    """The fleet, with an index that has not caught up with some of its axes, or with none."""
    with Vault.open(shutil.copytree(made, tmp_path / "vault")) as vault:
        step = {"all values": _AXES, "values of some axes": 3, "no values": 1}[request.param]
        for address in vault.index.axes()[step - 1 :: step] if step < _AXES else ():
            values.forget(vault.index._database, address)
        yield vault


def _parameters(vault: Vault, snapshot: Snapshot) -> bytes:
    return vault.read_required(layout.parameters_file(snapshot.address), snapshot.id)


def _differing(left: set[str], right: set[str]) -> int:
    codes = set()
    for line in left ^ right:
        parameter = read_parameter_line(line)
        role = roles.find(parameter.role) if parameter.role else None
        if role is None or not (role.volatile or role.group == "identity"):
            codes.add(parameter.code)
    return len(codes)


def by_reading_every_axis(vault: Vault, address: Address, text: bytes) -> str | None:
    """The rule as it is meant: which axis an export differs from far less than from its own."""
    lines = set(parameter_lines(text, "x"))
    sets = {
        axis: set(parameter_lines(_parameters(vault, latest), "x"))
        for axis in vault.index.axes()
        if (latest := vault.latest(axis)) is not None
    }
    own = _differing(lines, sets[address])
    if own <= 0.15 * len(lines):
        return None
    others = (axis for axis in sets if axis != address)
    return next((str(a) for a in others if _differing(lines, sets[a]) * 4 < own), None)


@settings(
    max_examples=part_of(60, 2),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(st.data())
def test_what_is_found_is_what_reading_every_axis_finds(fleet: Vault, data: st.DataObject) -> None:
    axes = fleet.index.axes()
    own, like, third = (data.draw(st.sampled_from(axes)) for _ in range(3))
    steps = data.draw(st.integers(0, 2))  # as it is now, or was an export or two ago
    snapshot = fleet.index.nth_latest(like, steps)
    assert snapshot is not None
    lines = parameter_lines(_parameters(fleet, snapshot), "x")
    others = fleet.latest(third)
    assert others is not None
    foreign = {
        read_parameter_line(line).code: line
        for line in parameter_lines(_parameters(fleet, others), "x")
    }
    replaced = data.draw(st.sets(st.integers(0, _PARAMETERS - 1), max_size=12))
    missing = data.draw(st.sets(st.integers(0, _PARAMETERS - 1), max_size=4))
    text = lines_text(
        [
            foreign[read_parameter_line(line).code] if at in replaced else line
            for at, line in enumerate(lines)
            if at not in missing
        ]
    )
    export: Any = SimpleNamespace(nameplate={}, family_name="hazel", parameters_text=text)
    found = wrong_axis(fleet, own, export, lambda latest: _parameters(fleet, latest))
    assert (found and str(found.elsewhere)) == by_reading_every_axis(fleet, own, text)


def test_axes_that_cannot_be_meant_are_not_read(made: Path) -> None:
    with Vault.open(made) as vault:
        own, like = vault.index.axes()[:2]
        latest = vault.latest(like)
        assert latest is not None
        export: Any = SimpleNamespace(
            nameplate={}, family_name="hazel", parameters_text=_parameters(vault, latest)
        )
        read = []

        def parameters_of(snapshot: Snapshot) -> bytes:
            read.append(snapshot.address)
            return _parameters(vault, snapshot)

        found = wrong_axis(vault, own, export, parameters_of)
        assert found is not None
        assert found.elsewhere == like
        assert read == [own, like]
