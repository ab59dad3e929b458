"""XML, JSON and an archive from the door to the comparison. The drives are invented."""

from __future__ import annotations

import json
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree
from zipfile import ZipFile

import pytest

from tests.conftest import Outcome
from tests.formats.test_zipped import archive
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
PARAMETERS = """\
parameters:
  lim/lag: {name: Following error window, role: following_error_window, scale: 0.01, unit: mm}
  ref/way: {name: Homing method, role: homing_method, type: INTEGER8}
  sto/on: {name: Safe stop, type: UNSIGNED8, safety: true}
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
  nameplate: {type: drive, "axes[]/serial": serial}
  recognise: {drive: ^YE-}
"""


def xml(lag: str) -> bytes:
    return f"""<?xml version="1.0"?>
<Drive type="RO-1" serial="7"><Set>
<P id="lim/lag"><Value unit="mm">{lag}</Value></P>
<P id="sto/on"><Value>1</Value></P>
<P id="ref/way"><Value>35</Value></P>
</Set></Drive>
""".encode()


def of_json(lag: str) -> bytes:
    return f"""{{"type": "YE-1", "axes": [{{"serial": "9", "set": {{
  "lim/lag": {{"v": {{"n": {lag}, "u": "mm"}}}},
  "sto/on": {{"v": {{"n": 1}}}},
  "ref/way": {{"v": {{"n": 35}}}}
}}}}]}}
""".encode()


def zipped(lag: str) -> bytes:
    return archive({"log.txt": b"saved", "set/a.xml": xml(lag)})


SAME = {"a.xml": (OF_XML, xml), "a.json": (OF_JSON, of_json), "a.zip": (OF_XML, zipped)}


def in_archive(content: bytes) -> dict[str, bytes]:
    """Members as zipfile of Python reads them."""
    with ZipFile(BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def set_of(name: str, content: bytes) -> dict[str, str]:
    """Values by code, by the readers of Python."""
    if name == "a.json":
        of_axis = json.loads(content, parse_float=str, parse_int=str)["axes"][0]["set"]
        return {code: one["v"]["n"] for code, one in of_axis.items()}
    if name == "a.zip":
        content = in_archive(content)["set/a.xml"]
    found = ElementTree.fromstring(content).iterfind("Set/P")
    return {p.get("id") or "": p.findtext("Value") or "" for p in found}


@pytest.mark.parametrize("name", SAME)
def test_an_export_is_taken_in_shown_compared_and_made_a_load_file(
    name: str, vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    head, made = SAME[name]
    (tmp_path / "new.yaml").write_text(head + PARAMETERS)
    added = cli("family", "add", tmp_path / "new.yaml")
    assert added.code == 0, added.stderr
    for day, lag in ((1, "2.50"), (2, "4.00")):
        path = tmp_path / name
        path.write_bytes(made(lag))
        at = f"2026-03-0{day}T08:00:00Z"
        taken = cli("ingest", path, "--to", "m1/lift", "--taken-at", at)
        assert taken.code == 0, taken.stderr
    shown = json.loads(cli("show", "m1/lift", "--json").stdout)
    values = {p["code"]: p["value"] for p in shown["parameters"]}
    assert values == {"lim/lag": "4", "ref/way": "35", "sto/on": "1"}
    compared = cli("compare", "m1/lift@2026-03-01", "m1/lift").stdout
    assert "2.5 mm" in compared
    assert "4 mm" in compared
    assert "Homing method" not in compared
    vault.refresh()
    assert resolve(vault, "m1/lift@first").export_content() == made("2.50")
    plan = cli("restore", "plan", "m1/lift@first", "--out", tmp_path / "plan", "--json")
    assert plan.code == 0, plan.stderr
    (loaded,) = (tmp_path / "plan").glob(f"*-load{Path(name).suffix}")
    assert set_of(name, loaded.read_bytes()) == {"lim/lag": "2.50", "ref/way": "35"}
    if name == "a.zip":
        assert in_archive(loaded.read_bytes())["log.txt"] == b"saved"
    verified = cli("verify")
    assert verified.code == 0, verified.stdout
