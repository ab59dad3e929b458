"""What is fuzzed: whole seeds, of the invented plant, and what reads them."""

from __future__ import annotations

import gzip
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from urllib.parse import quote_from_bytes

from example_machines import EXPORTS, MACHINES
from tests.jobs.intake import test_records_story as story
from vault.formats.record_shapes import record_shapes, single_texts
from vault.formats.registry import WritesBack
from vault.formats.zipped import is_packed
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.sync.sync import look
from vault.model.axis_pick import AxisPick
from vault.model.corrections import Correction
from vault.model.errors import VaultError
from vault.model.fault_log import FaultEntry
from vault.model.golden import Allowance, Approval, Golden, Waiver
from vault.model.restore import Adapted, RestoreRecord, SignOff
from vault.store.clock import parse_time
from vault.store.files import corrections_text, fault_log_text, golden_text, restore_text
from vault.store.files.edited_files import read_axis, read_family, read_site, read_watch_rules
from vault.store.files.parameters_text import read_parameters
from vault.store.files.snapshot_text import read_snapshot
from vault.store.files.yaml_text import load
from vault.store.git.exchange import bundle_into
from vault.store.vault import FamilyFile, Vault

BY = "Fuzz <fuzz@localhost>"


@dataclass(frozen=True, slots=True)
class Target:
    """A kind of input: `read` takes a variant of one of the seeds.

    `share` is how many of a hundred inputs are of this kind.
    """

    name: str
    seeds: tuple[bytes, ...]
    read: Callable[[bytes], object]
    share: int


@contextmanager
def targets(plant: Path, scratch: Path) -> Iterator[list[Target]]:
    """Everything that is fuzzed, over a vault of the example plant that may be read only."""
    from webui.app import create_app

    with Vault.open(plant) as vault:
        lift = vault.index.axes()[0]
        tip = {
            name: vault.read(f"machines/{lift}/{name}") or b""
            for name in ("snapshot.yaml", "parameters.yaml")
        }
        families = {name: vault.family_file(name) for name in vault.family_names()}
        bundle_into(scratch / "seed.bundle", vault.repository, vault.tip)
        client = create_app(plant, is_local=True).test_client()
        yield [
            *_exports(families),
            _records(),
            Target("family", tuple(f.content for f in families.values()), _family, 12),
            Target("axis", _files(MACHINES, "*.yaml"), partial(_read, read_axis), 12),
            Target("vault.yaml", (vault.read("vault.yaml") or b"",), partial(_read, read_site), 8),
            Target("watch rules", (_RULES,), partial(_read, read_watch_rules), 4),
            Target("golden", (_GOLDEN,), partial(_read, golden_text.read_golden), 6),
            Target("snapshot", (tip["snapshot.yaml"],), partial(_read, read_snapshot), 6),
            Target("parameters", (tip["parameters.yaml"],), partial(_read, read_parameters), 4),
            Target("restore", (_RESTORE,), partial(_read, restore_text.read_restore), 4),
            Target("notes", (_NOTES,), partial(_read, corrections_text.read_corrections), 4),
            Target("faults", (_FAULTS,), partial(_read, fault_log_text.read_fault_log), 4),
            Target("yaml", (_NOTES, _RULES), partial(_read, load), 4),
            Target("query", _QUERIES, partial(_query, client), 3),
            Target("bundle", ((scratch / "seed.bundle").read_bytes(),),
                   partial(_bundle, vault, scratch / "one.bundle"), 1),
        ]  # fmt: skip


def _exports(families: dict[str, FamilyFile]) -> Iterator[Target]:
    """A DCF and the tables of the plant, each with its family and as a stranger."""
    by_end: dict[str, list[bytes]] = {}
    hazel = FamilyFile("hazel", (EXPORTS.parent / "families/hazel.yaml").read_bytes())
    files = (path for path in EXPORTS.rglob("*") if path.is_file())
    for path in sorted(files, key=lambda path: (path.stat().st_size, path)):
        by_end.setdefault(path.suffix.lower(), []).append(path.read_bytes())
    for suffix, seeds in by_end.items():
        share = 16 if suffix == ".dcf" else 6
        reader = partial(_export, f"fuzz{suffix}", (*families.values(), hazel))
        yield Target(f"export {suffix}", tuple(seeds[:3]), reader, share)


def _export(name: str, known: tuple[FamilyFile, ...], content: bytes) -> object:
    pick = AxisPick(("*",)) if name.endswith(".xml") else None  # of a controller's project
    return read_export(content, name, known=known, node_id=5, partial=True, pick=pick)


def _records() -> Target:
    """XML, JSON and archives of them, of families that read them; what is read is put back."""
    known = tuple(
        FamilyFile(name, (head + story.PARAMETERS).encode())
        for name, head in (("rowan", story.OF_XML), ("yew", story.OF_JSON))
    )
    seeds = (
        story.xml("2.50"), story.of_json("2.50"), story.zipped("2.50"),
        story.xml("2.50").decode().encode("utf-16"), gzip.compress(story.of_json("2.50"), mtime=1),
    )  # fmt: skip
    return Target("records", seeds, partial(_record_export, known), 12)


def _record_export(known: tuple[FamilyFile, ...], content: bytes) -> object:
    for suggest in (record_shapes, single_texts):
        if not is_packed(content):
            with suppress(VaultError):
                suggest(content, ("utf-8",), file="fuzz")
    export = _export("fuzz", known, content)
    assert isinstance(export, Export)
    if isinstance(export.format, WritesBack):
        given = {entry.code: entry.written for entry in export.listing.entries}
        dialect = export.family.family.export if export.family else None
        again = export.format.write_back(
            content, given, file="fuzz", dialect=dialect, channel=export.listing.channel
        )
        assert again == content
    return export


def _family(content: bytes) -> object:
    return read_family(content, "fuzz.yaml")


def _read(reader: Callable[[bytes, str], object], content: bytes) -> object:
    return reader(content, "fuzz.yaml")


def _query(client: object, content: bytes) -> object:
    address, _, query = content.partition(b"?")
    path = quote_from_bytes(address, safe="/@~.")
    answer = client.get(f"{path}?{quote_from_bytes(query, safe='=&')}")  # type: ignore[attr-defined]
    if answer.status_code >= 500 and answer.status_code != 503:
        raise AssertionError(f"{answer.status_code} for {path}?{query!r}")
    return answer


def _bundle(vault: Vault, file: Path, content: bytes) -> object:
    file.write_bytes(content)
    return look(vault, str(file), BY)


def _files(folder: Path, pattern: str) -> tuple[bytes, ...]:
    return tuple(path.read_bytes() for path in sorted(folder.rglob(pattern)))[:6]


_ID = b"0123456789abcdef0123456789abcdef01234567"
_AT = parse_time("2026-01-02")
_NOTES = corrections_text.corrections_text(
    [Correction("note", BY, _AT, "belt changed"),
     Correction("taken-at", BY, _AT, "clock", _ID.decode(), _AT)]
)  # fmt: skip
_GOLDEN = golden_text.golden_text(
    Golden(
        Approval(_ID.decode(), _ID.decode(), BY, _AT, "tried", {"a": ("b",)}),
        (Waiver("x", Allowance.parse("1..2 mm"), "2099-01-01", BY, _AT, "so"),),
    )
)
_FAULTS = fault_log_text.fault_log_text([FaultEntry(_AT, "8611h", BY, "it tripped")])
_RESTORE = restore_text.restore_text(
    RestoreRecord(
        "2026-01-02-ab12",
        _AT,
        BY,
        _ID.decode(),
        adapted=(Adapted("x", "1", "so"),),
        signed_off=SignOff(BY, _AT, _ID.decode(), "meant"),
    )
)
_RULES = b"""\
schema: axisvault/watch/1
rules:
  - {folder: laptop-3/lift, to: m1/lift, occasion: as-left, by: Ada <ada@x>, work_order: 1182}
  - {folder: "hall-*/*/*"}
  - {folder: "**/belts", to: m1/belt, family: hazel}
"""
_QUERIES = (
    b"/axis/glaze-line-1/lift?units=si", b"/compare?left=glaze-line-1/lift@previous&right=",
    b"/spread?pattern=*/lift", b"/find?text=following&value=>+2+mm", b"/audit?place=kiln-loader",
    b"/axis/glaze-line-1/lift/at/~1", b"/api/v1/axis/glaze-line-1/lift",
    b"/restore/kiln-loader/hoist",
)  # fmt: skip
