"""The load file of a CANopen drive against canopen, a library that knows nothing of ours.

The library reads the load file (CiA 306), and a node of it is loaded by SDO (CiA 301) over a
virtual bus inside this process; what the node holds then is exported by the library and checked.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import canopen
import pytest
from canopen.objectdictionary import ODVariable
from canopen.objectdictionary.eds import export_dcf

from tests.conftest import Outcome
from tests.simulated_drive import SimulatedDrive, story_of
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.request import PlanRequest
from vault.meaning.loading import Prepared
from vault.store.vault import Vault

NAME = "glaze-line-2/lift"


@pytest.fixture
def plan(works: Path, tmp_path: Path) -> Iterator[RestorePlan]:
    shutil.copytree(works, tmp_path / "plant")
    with Vault.open(tmp_path / "plant") as vault:
        yield make_plan(vault, PlanRequest(NAME))


def place(row: Prepared) -> tuple[int, int]:
    code = row.shown.code
    return int(code[2:6], 16), int(code[7:], 16)


def variable(od: Any, index: int, sub: int) -> Any:
    found = od[index]
    return found if isinstance(found, ODVariable) else found[sub]


def test_canopen_reads_the_values_of_the_plan(plan: RestorePlan, tmp_path: Path) -> None:
    assert plan.load_file is not None
    path = tmp_path / plan.load_file.name
    path.write_bytes(plan.load_file.content)
    od = canopen.import_od(str(path))
    read = {row.shown.code: variable(od, *place(row)).value for row in plan.loaded}
    assert read == {row.shown.code: row.shown.raw for row in plan.loaded}
    assert len(read) > 150
    assert od.node_id == 23


def test_a_node_loaded_by_sdo_is_restored(
    plan: RestorePlan, tmp_path: Path, cli: Callable[..., Outcome]
) -> None:
    """As delivered, loaded over the bus, read back over the bus, exported by the library."""
    assert cli("restore", "plan", NAME, "--out", "plan").code == 0
    last = list(story_of("glaze-line-2", "lift").states())[-1]
    drive = SimulatedDrive.like(last, **{"2020:01": "AL26-020001", "1018:04": "20001"})
    drive.validate_safety(last.settings)
    delivered = tmp_path / "delivered.dcf"
    delivered.write_bytes(drive.export("2026-04-02T03:40:00+02:00"))
    load = next((tmp_path / "plan").glob("*.dcf"))
    wanted = canopen.import_od(str(load))

    ours, theirs = canopen.Network(), canopen.Network()
    node = canopen.LocalNode(23, canopen.import_od(str(delivered)))
    remote = canopen.RemoteNode(23, canopen.import_od(str(delivered)))
    for network, member in ((theirs, node), (ours, remote)):
        network.connect(interface="virtual", channel="cabinet")
        network.add_node(member)
    try:
        for row in plan.loaded:
            index, sub = place(row)
            remote.sdo.download(index, sub, variable(wanted, index, sub).encode_raw(row.shown.raw))
        for row in plan.loaded:
            content = remote.sdo.upload(*place(row))
            assert variable(wanted, *place(row)).decode_raw(content) == row.shown.raw
        as_left = canopen.import_od(str(delivered))
        for row in plan.loaded:
            entry = variable(as_left, *place(row))
            entry.value_raw = str(entry.decode_raw(remote.sdo.upload(*place(row))))
    finally:
        ours.disconnect()
        theirs.disconnect()
    with (tmp_path / "as-left.dcf").open("w") as file:
        export_dcf(as_left, file, {})  # else it adds the head of an export before
    done = cli("restore", "check", NAME, "as-left.dcf", "--moved", "50 mm=50.03 mm", "--json",
               "--family", "alder", "--taken-at", "2026-04-02T04:00:00+02:00")  # fmt: skip
    assert done.code == 0, done.stdout + done.stderr
    assert done.json["differences"] == done.json["safety"] == []
