"""The spread gives what it gave when it held every axis to every other, and read each alone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.bench import bulk
from tests.conftest import BY
from tests.meaning.test_alike import pair_by_pair
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family
from vault.jobs.state.selectors import State, view_of
from vault.meaning import spread as spread_module
from vault.meaning.axis_view import AxisView
from vault.meaning.readings import Readings
from vault.meaning.spread import spread
from vault.meaning.steps import step_size
from vault.store.vault import Vault


@pytest.fixture(scope="module")
def generated(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A vault of sixty axes with 40 parameters, many of which scatter; generated, invented."""
    folder = tmp_path_factory.mktemp("generated")
    rows = bulk.parameters(40)
    bulk.write_tree(folder / "exports", rows, 60, 1)
    (folder / "hazel.yaml").write_text(bulk.family_text(rows))
    with Vault.create(folder / "vault", "Works", BY) as vault:
        add_family(vault, folder / "hazel.yaml", BY)
        assert ingest_tree(vault, folder / "exports", BY).taken == 60
    return folder / "vault"


@pytest.fixture(params=["works", "generated"])
def views(request: pytest.FixtureRequest) -> Iterator[dict[str, AxisView]]:
    """Views of the example plant, and of the generated one."""
    with Vault.open(request.getfixturevalue(request.param)) as vault:
        latest = {address: vault.latest(address) for address in vault.index.axes()}
        yield {
            str(address): view_of(State(str(address), vault, address, snapshot, True))
            for address, snapshot in latest.items()
        }


def test_rows_are_those_of_groups_made_pair_by_pair(
    views: dict[str, AxisView], monkeypatch: pytest.MonkeyPatch
) -> None:
    found = spread(views)
    monkeypatch.setattr(spread_module, "groups_of", pair_by_pair)
    assert found == spread(views)
    assert any(row.basis == "majority" and row.odd for row in found)


def test_every_cell_is_what_its_axis_alone_gives(views: dict[str, AxisView]) -> None:
    rows = spread(views)
    for axis, view in views.items():
        readings = Readings(view)
        for row in rows:
            if (cell := row.cells.get(axis)) is not None:
                reading = readings.of(cell.parameter)
                assert (cell.reading, cell.text, cell.size) == (
                    reading,
                    reading.told,
                    reading.physical,
                )
                assert cell.step == step_size(cell.parameter, view, view.sizes)
                assert view.parameters[cell.parameter.code] == cell.parameter
