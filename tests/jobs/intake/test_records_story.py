"""XML, JSON and an archive from the door to the comparison. The drives are invented."""

from __future__ import annotations

import csv
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
OF_TABLE = """\
schema: axisvault/family/1
name: sorrel
title: Sorrel drives (invented)
export:
  format: delimited
  member: "*.csv"
  columns: {code: Code, value: Value, unit: Unit}
  nameplate: {Drive: drive}
  recognise: {drive: ^SO-}
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


def table_in_zip(lag: str) -> bytes:
    rows = f"Drive,SO-1\r\nCode,Value,Unit\r\nlim/lag,{lag},mm\r\nsto/on,1,\r\nref/way,35,\r\n"
    return archive({"log.txt": b"saved", "set/a.csv": rows.encode()})


SAME = {
    "a.xml": (OF_XML, xml),
    "a.json": (OF_JSON, of_json),
    "a.zip": (OF_XML, zipped),
    "b.zip": (OF_TABLE, table_in_zip),
}


def in_archive(content: bytes) -> dict[str, bytes]:
    """Members as zipfile of Python reads them."""
    with ZipFile(BytesIO(content)) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def set_of(name: str, content: bytes) -> dict[str, str]:
    """Values by code, by the readers of Python."""
    if name == "a.json":
        of_axis = json.loads(content, parse_float=str, parse_int=str)["axes"][0]["set"]
        return {code: one["v"]["n"] for code, one in of_axis.items()}
    if name == "b.zip":
        rows = csv.reader(in_archive(content)["set/a.csv"].decode().splitlines()[2:])
        return {code: value for code, value, _ in rows}
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
    if name.endswith(".zip"):
        assert in_archive(loaded.read_bytes())["log.txt"] == b"saved"
    verified = cli("verify")
    assert verified.code == 0, verified.stdout


DEEP = b"<Drive>" + b"<a>" * 200
LAUGHS = b'<!DOCTYPE d [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]>\n<Drive type="RO-1">&b;</Drive>'
NO_NUMBER = of_json("NaN")


@pytest.fixture
def plant(vault: Vault, cli: Cli, tmp_path: Path) -> Vault:
    """A vault with both families."""
    for head in (OF_XML, OF_JSON):
        (tmp_path / "new.yaml").write_text(head + PARAMETERS)
        assert cli("family", "add", tmp_path / "new.yaml").code == 0
    vault.refresh()
    return vault


@pytest.mark.parametrize("family", [(), ("--family", "rowan")])
@pytest.mark.parametrize(
    ("content", "code", "told"),
    [
        (LAUGHS, 4, "document type"),
        (DEEP, 4, "line 1"),
        (xml("2.5")[:-20], 4, "line 5: the XML ends before it is complete"),
        (xml("a lot"), 4, "line 3"),
        (archive({"a.xml": xml("2.5"), "b.xml": xml("3.5")}), 2, "2 exports in this archive"),
        (archive({"../a.xml": xml("2.5")}), 4, "'../a.xml' in it leads out of the archive"),
        (archive({"a.xml": b" " * (40 << 20)}), 4, "a.xml in it would grow more than 300 times"),
        (archive({"a.xml": LAUGHS}), 4, "(a.xml)"),
        (archive({"a.xml": xml("2.5")})[:-40], 4, "cut off, damaged or empty"),
    ],
)
def test_a_hostile_export_is_refused_with_its_place_and_nothing_is_stored(
    content: bytes, code: int, told: str, family: tuple[str, ...], plant: Vault, cli: Cli,
    tmp_path: Path,
) -> None:  # fmt: skip
    tip = plant.tip
    (tmp_path / "a").write_bytes(content)
    refused = cli("ingest", tmp_path / "a", "--to", "m1/lift", *family)
    assert refused.code == code
    assert told in refused.stderr
    plant.refresh()
    assert plant.tip == tip


def test_json_with_what_is_no_number_is_refused_with_its_line(
    plant: Vault, cli: Cli, tmp_path: Path
) -> None:
    tip = plant.tip
    (tmp_path / "a.json").write_bytes(NO_NUMBER)
    refused = cli("ingest", tmp_path / "a.json", "--to", "m1/lift", "--family", "yew", "--json")
    assert refused.code == 4
    error = json.loads(refused.stdout)["error"]
    assert error["line"] == 2
    assert "'NaN,' stands there" in error["message"]
    plant.refresh()
    assert plant.tip == tip


@pytest.mark.usefixtures("plant")
def test_an_axis_of_several_in_json_is_set_by_hand(cli: Cli, tmp_path: Path) -> None:
    text = OF_JSON.replace("  nameplate:", "  channel: {column: ../../serial}\n  nameplate:")
    (tmp_path / "new.yaml").write_text(text + PARAMETERS)
    assert cli("family", "add", tmp_path / "new.yaml").code == 0
    both = json.loads(of_json("2.50"), parse_float=str)
    both["axes"].append(both["axes"][0] | {"serial": "10"})
    (tmp_path / "a.json").write_text(json.dumps(both))
    unclear = cli("ingest", tmp_path / "a.json", "--to", "m1/lift")
    assert unclear.code == 2
    assert "channels 9, 10" in unclear.stderr
    taken = cli("ingest", tmp_path / "a.json", "--to", "m1/lift", "--channel", 10)
    assert taken.code == 0, taken.stderr
    plan = cli("restore", "plan", "m1/lift", "--out", tmp_path / "plan", "--json")
    assert plan.code == 0, plan.stderr
    assert json.loads(plan.stdout)["load_file"] is None
    assert cli("verify").code == 0


def test_a_table_in_an_archive_stays_in_it_on_its_way_to_a_drive(
    vault: Vault, cli: Cli, tmp_path: Path, export_text: Callable[..., str]
) -> None:
    kept = archive({"read me.txt": b"of an invented drive", "a.csv": export_text().encode()})
    (tmp_path / "a.zip").write_bytes(kept)
    taken = cli("ingest", tmp_path / "a.zip", "--to", "m1/lift")
    assert taken.code == 0, taken.stderr
    vault.refresh()
    plan = cli("restore", "plan", "m1/lift", "--out", tmp_path / "plan")
    assert plan.code == 0, plan.stderr
    (loaded,) = (tmp_path / "plan").glob("*.zip")
    assert loaded.read_bytes() == kept
    gone = export_text().encode()
    moved = cli("compare", "m1/lift", f"file:{tmp_path / 'a.zip'}", "--exit-code")
    assert moved.code == 0, moved.stdout
    assert in_archive(loaded.read_bytes())["a.csv"] == gone
