"""XML, JSON and an archive from the door to the comparison. The drives are invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from tests.formats.test_zipped import archive
from vault.jobs.export.read_export import read_export
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
PARAMETERS = """\
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm}
  ref/way: {name: Homing method, role: homing_method, type: INTEGER8}
"""
OF_XML = """\
schema: axisvault/family/1
name: rowan
title: Rowan drives (invented)
export:
  format: records
  record: Drive/Set/P
  columns: {code: "@id", value: Value, unit: Value/@unit}
  nameplate: {Drive/@type: drive, Drive/@serial: serial}
  recognise: {drive: ^RO-}
"""
OF_JSON = """\
schema: axisvault/family/1
name: yew
title: Yew drives (invented)
export:
  format: records
  record: "axes[]/set{}"
  columns: {code: ~key, value: v/n, unit: v/u}
  channel: {column: ../../no}
  nameplate: {type: drive, "axes[]/serial": serial}
  recognise: {drive: ^YE-}
"""


def xml(lag: str) -> bytes:
    return f"""<?xml version="1.0"?>
<Drive type="RO-1" serial="7"><Set>
<P id="lim/lag"><Value unit="mm">{lag}</Value></P>
<P id="ref/way"><Value>35</Value></P>
</Set></Drive>
""".encode()


def of_json(lag: str) -> bytes:
    return f"""{{"type": "YE-1", "axes": [
{{"no": 1, "serial": "8", "set": {{"lim/lag": {{"v": {{"n": 9, "u": "mm"}}}}}}}},
{{"no": 2, "serial": "9", "set": {{"lim/lag": {{"v": {{"n": {lag}, "u": "mm"}}}}, "ref/way": {{"v": {{"n": 35}}}}}}}}
]}}""".encode()


SAME = {
    "a.xml": (OF_XML, xml, ()),
    "a.json": (OF_JSON, of_json, ("--channel", 2)),
    "a.zip": (OF_XML, lambda lag: archive({"a.xml": xml(lag), "log.txt": b"saved"}), ()),
}


@pytest.mark.parametrize("name", SAME)
def test_an_export_is_taken_in_shown_and_compared(
    name: str, vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    head, made, channel = SAME[name]
    (tmp_path / "new.yaml").write_text(head + PARAMETERS)
    added = cli("family", "add", tmp_path / "new.yaml")
    assert added.code == 0, added.stderr
    for day, lag in ((1, "2.50"), (2, "4.00")):
        path = tmp_path / name
        path.write_bytes(made(lag))
        at = f"2026-03-0{day}T08:00:00Z"
        taken = cli("ingest", path, "--to", "m1/lift", "--taken-at", at, *channel)
        assert taken.code == 0, taken.stderr
    shown = json.loads(cli("show", "m1/lift", "--json").stdout)
    assert {p["code"]: p["value"] for p in shown["parameters"]} == {"lim/lag": "4", "ref/way": "35"}
    compared = cli("compare", "m1/lift@2026-03-01T09:00:00Z", "m1/lift").stdout
    assert "2.5 mm" in compared
    assert "4 mm" in compared
    assert "Homing method" not in compared
    kept = vault.latest(parsed("m1/lift"))
    assert kept is not None
    assert vault.export(kept) == made("4.00")
    assert cli("verify").code == 0
