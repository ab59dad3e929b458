"""The life of a golden baseline, told on the example machines (invented), visit after visit."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from vault.jobs.baseline import golden
from vault.jobs.baseline.axis_drift import AxisDrift
from vault.jobs.baseline.drift import drift, drift_of
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_family, set_axis, set_site
from vault.model.errors import Refused
from vault.model.names import Address
from vault.store.vault import Vault

EXAMPLE = Path(__file__).parents[3] / "example_machines"
PAVO = "Pavo Drostmaa <pavo.drostmaa@tileworks.example>"
HENRIKE = "Henrike Solvang <henrike.solvang@tileworks.example>"
LIFT = Address("glaze-line-1", "lift")
POLICY = """\
schema: axisvault/vault/1
site: Tile works (invented example)
approval: {second_person: true, reason: true, clean_check: true}
"""
Until = Callable[[str], None]


@pytest.fixture
def works(tmp_path: Path) -> Vault:
    vault = Vault.create(tmp_path / "works", "Tile works (invented example)", HENRIKE)
    for path in sorted((EXAMPLE / "families").glob("*.yaml")):
        add_family(vault, path, HENRIKE)
    for path in sorted((EXAMPLE / "machines").glob("*/*.yaml")):
        set_axis(vault, Address(path.parent.name, path.stem), path, HENRIKE)
    policy = tmp_path / "vault.yaml"
    policy.write_text(POLICY)
    set_site(vault, policy, HENRIKE)
    return vault


@pytest.fixture
def until(works: Vault, tmp_path: Path) -> Until:
    """Takes in every example export that was taken up to a day."""
    text = (EXAMPLE / "manifest.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(text)))

    def take_in(day: str) -> None:
        manifest = tmp_path / "manifest.csv"
        with manifest.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, fieldnames=list(rows[0]))
            writer.writeheader()
            for row in rows:
                if row["taken_at"] <= day:
                    writer.writerow({**row, "file": str(EXAMPLE / row["file"])})
        assert not ingest_tree(works, EXAMPLE, HENRIKE, manifest).failures

    return take_in


def stands(works: Vault, address: Address = LIFT) -> AxisDrift:
    return drift_of(works, address)


def test_a_swapped_drive_from_the_first_alarm_to_the_new_baseline(
    works: Vault, until: Until
) -> None:
    until("2025-01-01")
    assert stands(works).status == "no_golden"

    # Pavo took the export of November 2024, so somebody else has to approve it.
    with pytest.raises(Refused, match="second person") as caught:
        golden.approve(works, str(LIFT), PAVO, "accepted after service")
    assert caught.value.exit_code == 3
    golden.approve(works, str(LIFT), HENRIKE, "accepted after service")
    assert stands(works).status == "in_line"

    # A year later the drive fails at night. The spare comes from the store with an encoder of
    # 24 bit, and counts it: every way is a sixteenth, though its number is the same.
    until("2025-11-17T12:00")
    found = stands(works)
    assert (found.status, found.worst) == ("drifted", "hazard")
    assert found.since == datetime.fromisoformat("2025-11-17T03:25:00+01:00")
    assert any("0.0625" in cause for cause in found.causes)
    shifted = {d.change.shown.code for d in found.changes if d.change.kind == "shifted"}
    assert "0x6065:00" in shifted
    assert any("AL25-011902" in said for said in found.hardware)

    # The next day it is put right; the new encoder has its own offset, and keeps it.
    until("2025-11-18T23:59")
    found = stands(works)
    assert [deviation.change.shown.code for deviation in found.changes] == ["0x2010:04"]
    assert found.since == datetime.fromisoformat("2025-11-17T03:25:00+01:00"), "never in line since"
    golden.waive(
        works,
        LIFT,
        parse_waiver_request(
            "encoder_absolute_offset", allow="any", until="2099-12-31", reason="new motor"
        ),
        HENRIKE,
    )
    assert stands(works).status == "in_line"
    (later,) = drift(works, str(LIFT), datetime.fromisoformat("2100-01-02T00:00:00+00:00"))
    assert later.status == "drifted", "a waiver that ended counts again"

    # The new drive becomes the baseline, and the exception is needed no more.
    golden.approve(works, str(LIFT), HENRIKE, "drive swapped, axis referenced and tried")
    golden.withdraw(works, LIFT, HENRIKE, "in the baseline now", waiver="0x2010:04")
    found = stands(works)
    assert (found.status, found.waived, found.hardware) == ("in_line", (), ())


def test_another_user_unit_is_no_drift(works: Vault, until: Until) -> None:
    carriage = Address("glaze-line-1", "spray-carriage")
    until("2021-12-31")
    golden.approve(works, str(carriage), HENRIKE, "accepted")
    before = works.latest(carriage)
    until("2022-03-31")  # from 1e-4 rev to 0.001 mm: every number is another one
    assert works.latest(carriage) != before
    found = stands(works, carriage)
    assert (found.status, found.count, found.waived) == ("in_line", 0, ())


def test_a_finding_of_check_is_accepted_by_its_name(works: Vault, until: Until) -> None:
    shuttle = "kiln-loader/shuttle"
    until("2026-12-31")
    with pytest.raises(Refused, match="--accept room_to_stop"):
        golden.approve(works, shuttle, HENRIKE, "buffers are fitted")
    golden.approve(works, shuttle, HENRIKE, "buffers are fitted", accepted=["room_to_stop"])
    approval = works.golden(Address.parse(shuttle)).approval
    assert approval is not None
    assert "325.4 mm" in approval.accepted["room_to_stop"][0]
