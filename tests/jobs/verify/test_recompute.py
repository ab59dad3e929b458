"""Lines that were met before give what reading the whole export gives, whatever stands in it.

All codes and values are invented.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import BY
from tests.sweeps import part_of
from vault.formats.delimited_table import Table
from vault.jobs.export.read_export import read_export
from vault.jobs.intake.guard import Verdict
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.record import snapshot_record
from vault.jobs.intake.time_taken import TimeTaken
from vault.jobs.intake.visit import parse_visit
from vault.jobs.verify import recompute
from vault.jobs.verify.recompute import Recomputer
from vault.jobs.verify.verify import verify
from vault.model.coverage import Coverage
from vault.model.errors import Unreadable, VaultError
from vault.model.names import Address
from vault.model.normalise import VERSION
from vault.model.snapshots import SnapshotRecord
from vault.store.files.snapshot_text import read_snapshot, snapshot_text
from vault.store.vault import FamilyFile, Vault

Export = Callable[..., str]
CHANNELS = "  columns: {code: Code, name: Name, value: Value, unit: Unit}\n"

# Lines of exports as they come, and as they should not come (invented).
PLAIN = [
    "lim/lag;Following error window;2,5;mm", "lim/lag;Following error window;2,50;mm",
    "lim/lag;Following error window;0,0025;m", "mov/speed;Profile velocity;100;mm/s",
    "ref/way;Homing method;35;", "set/1;Setting 1;1;", "set/2;Setting 2;2;", "set/1;Setting 1;5;",
    'set/3;"Setting; 3";3;', "set/5;Setting 5;5;;;", "now/place;Actual position;5;mm", "",
    "new/1;Something new;7;",
]  # fmt: skip
ODD = [
    "mov/speed;Profile velocity;100,05;mm/s", "ref/way;;x;", 'set/4;"Setting', 'four";4;',
    "set/6;Setting 6", ";;;", "# note", "new/2;Something else;8;V", "Code;Name;Value;Unit",
    "Value;Code;Name;Unit", "Drive;HZ-09;;", "set/7;Setting 7;99999;", "set/8;Setting 8;;",
]  # fmt: skip
some_lines = st.lists(st.sampled_from(PLAIN), max_size=8, unique=True) | st.lists(
    st.sampled_from(PLAIN) | st.sampled_from(ODD), max_size=8
)


def whole(
    content: bytes, family: FamilyFile, channel: int | None = None
) -> tuple[bytes, Coverage] | str:
    """What the export gives when all of it is read; the reason where it gives nothing."""
    try:
        read = read_export(content, "x.csv", family, channel=channel, partial=True)
    except VaultError as error:
        return str(error)
    return read.parameters_text, read.coverage


def again(
    recomputer: Recomputer, content: bytes, family: FamilyFile, channel: int | None = None
) -> tuple[bytes, Coverage] | str:
    record = SnapshotRecord(
        taken_at=datetime(2026, 3, 1, tzinfo=UTC),
        occasion="routine",
        by="Nobody <>",
        export_name="x.csv",
        export_sha256="",
        normalisation=VERSION,
        channel=channel,
    )
    try:
        return tuple(recomputer.recompute(content, family, record))
    except VaultError as error:
        return str(error)


exports = st.tuples(
    some_lines,
    st.sampled_from(["\n", "\n", ""]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from(["HZ-04", "HZ-05"]),
)


def written(lines: list[str], last: str, end: str, drive: str) -> bytes:
    text = "\n".join([f"Drive;{drive};;", "Code;Name;Value;Unit", *lines]) + last
    return text.replace("\n", end).encode()


@settings(max_examples=part_of(80, 2), deadline=None)
@given(st.lists(exports, min_size=1, max_size=5))
def test_any_exports_one_after_the_other_give_what_each_gives_by_itself(
    family_text: str, several: list[tuple[list[str], str, str, str]]
) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    for parts in several:
        content = written(*parts)
        assert again(recomputer, content, family) == whole(content, family)


@settings(max_examples=part_of(40, 2), deadline=None)
@given(
    st.lists(
        st.lists(
            st.tuples(st.sampled_from(["", "1", "2"]), st.sampled_from(PLAIN)), max_size=6
        ),
        min_size=1, max_size=4,
    ),
    st.sampled_from([None, 1, 2]),
)  # fmt: skip
def test_channels_of_one_file_are_told_apart(
    family_text: str, several: list[list[tuple[str, str]]], channel: int | None
) -> None:
    text = family_text.replace(CHANNELS, CHANNELS + "  channel: {column: Axis}\n")
    assert text != family_text
    family, recomputer = FamilyFile("hazel", text.encode()), Recomputer()
    for rows in several:
        lines = [f"{axis};{line}" for axis, line in rows]
        content = "\n".join(["Axis;Code;Name;Value;Unit", *lines, ""]).encode()
        assert again(recomputer, content, family, channel) == whole(content, family, channel)


def test_a_line_that_was_met_before_is_not_read_again(
    family_text: str, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    read: list[str] = []
    original = recompute._read_lines

    def noted(table: Table, lines: Sequence[str], *rest: Any) -> Any:
        read.extend(lines)
        return original(table, lines, *rest)

    monkeypatch.setattr(recompute, "_read_lines", noted)
    monkeypatch.setattr(recompute, "read_export", None)  # cannot be called
    for lag in ("1", "2", "1"):
        assert again(recomputer, export_text(lag).encode(), family)
    assert len(read) == len(set(read))
    assert len([line for line in read if line.startswith("lim/lag")]) == 2


def test_another_dictionary_gives_its_own_values(family_text: str, export_text: Export) -> None:
    recomputer, content = Recomputer(), export_text("2").encode()
    for text in (family_text, family_text.replace("scale: 0.01", "scale: 0.02"), family_text):
        family = FamilyFile("hazel", text.encode())
        assert again(recomputer, content, family) == whole(content, family)


def test_no_more_than_so_many_lines_are_remembered(
    family_text: str, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(recompute, "_MOST_LINES", 120)
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    for number in range(200):
        content = export_text(str(number)).encode()
        assert again(recomputer, content, family) == whole(content, family)
        assert 0 < sum(map(len, recomputer._lines.values())) <= 120


def test_a_line_means_what_the_firmware_of_its_export_says(family_text: str) -> None:
    text = family_text.replace("{Drive: drive,", "{Drive: drive, Firmware: firmware,") + (
        "variants:\n  - firmware: '>=2'\n    parameters: {set/1: {scale: 0.5}}\n"
    )
    family, recomputer = FamilyFile("hazel", text.encode()), Recomputer()
    texts = []
    for firmware in ("1.4", "2.0", "1.4"):
        head = f"Drive;HZ-04;;\nFirmware;{firmware};;\nCode;Name;Value;Unit\n"
        content = f"{head}set/1;Setting 1;6;\n".encode()
        texts.append(again(recomputer, content, family))
        assert texts[-1] == whole(content, family)
    assert texts[0] == texts[2] != texts[1]


@pytest.mark.parametrize("ends", ["\n\r\n", "\r\n\n", "\r\r\n", "\n\r", "\r"])
def test_mixed_line_ends_give_what_reading_the_whole_gives(family_text: str, ends: str) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    for end in ("\n", "\r\n"):
        plain = written(PLAIN[4:7], "\n", end, "HZ-04")
        mixed = plain.replace(b"100;mm/s" + end.encode(), b"100;mm/s" + ends.encode())
        for content in (plain, mixed, mixed[: -len(end)]):
            assert again(recomputer, content, family) == whole(content, family)


@pytest.mark.parametrize(
    "then",
    [
        ["set/1;Setting 1;1;", "set/1;Setting 1;1;"],
        ["set/1;Setting 1;1;", "set/1;Setting 1;5;"],
        ["Value;Code;Name;Unit", "set/1;Setting 1;1;"],
        ['set/4;"Setting', "set/1;Setting 1;1;", 'four";4;'],
    ],
    ids=["twice", "two values", "other columns", "within quotes"],
)
def test_what_stands_around_a_line_that_was_met_before_still_counts(
    family_text: str, then: list[str]
) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    for lines in (["set/1;Setting 1;1;", "set/2;Setting 2;2;"], ["set/1;Setting 1;5;"], then):
        content = written(lines, "\n", "\n", "HZ-04")
        assert again(recomputer, content, family) == whole(content, family)


def test_a_line_means_what_the_header_row_above_it_says(family_text: str) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    texts = []
    for header in ("Code;Value;Name;Unit", "Code;Name;Value;Unit"):
        content = f"Drive;HZ-04;;\n{header}\nset/1;7;5;\n".encode()
        texts.append(again(recomputer, content, family))
        assert texts[-1] == whole(content, family)
    assert texts[0] != texts[1]


def test_lines_of_mostly_unknown_codes_are_refused_though_each_was_met_before(
    family_text: str,
) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    known, strange = ["set/1;S;1;", "set/2;S;2;"], ["new/1;N;1;", "new/2;N;2;", "new/3;N;3;"]
    for lines in ([*known, *strange[:2]], [*known, strange[2], *strange[:1]], [*known, *strange]):
        content = written(lines, "\n", "\n", "HZ-04")
        assert again(recomputer, content, family) == whole(content, family)
    assert "3 of 5 codes are not in family hazel" in whole(content, family)  # type: ignore[operator]


def test_channels_of_a_file_are_not_mixed_though_each_line_was_met_before(
    family_text: str,
) -> None:
    text = family_text.replace(CHANNELS, CHANNELS + "  channel: {column: Axis}\n")
    family, recomputer = FamilyFile("hazel", text.encode()), Recomputer()
    one, other = "1;set/1;S;1;", "2;set/2;S;2;"
    for rows in ([one], [other], [one, other]):
        content = "\n".join(["Axis;Code;Name;Value;Unit", *rows, ""]).encode()
        assert again(recomputer, content, family) == whole(content, family)
    assert "holds channels 1, 2" in whole(content, family)  # type: ignore[operator]


def test_a_channel_of_a_file_that_tells_none_apart_is_refused(
    family_text: str, export_text: Export
) -> None:
    family, recomputer = FamilyFile("hazel", family_text.encode()), Recomputer()
    content = export_text("1").encode()
    for channel in (None, 1):
        assert again(recomputer, content, family, channel) == whole(content, family, channel)


# Coverage: what is recorded at the door is what `verify` works out, through snapshot.yaml and back.

SHAPES = {
    "stated": "DataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=6\n",
    "stated alone": "DataType=0x0007\nAccessType=rw\nParameterValue=6\n",
    "stated as nothing": "DataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=\n",
    "default": "DataType=0x0007\nAccessType=rw\nDefaultValue=5\n",
    "of the node": "DataType=0x0007\nAccessType=rw\nDefaultValue=$NODEID+5\n",
    "neither": "DataType=0x0007\nAccessType=rw\n",
    "left out": "DataType=0x0007\nAccessType=rw\nDefaultValue=5\nParameterValue=six\n",
    "bad default": "DataType=0x0007\nAccessType=rw\nDefaultValue=five\n",
    "too large": "DataType=0x0005\nAccessType=rw\nParameterValue=256\n",
    "no type": "AccessType=rw\nParameterValue=6\n",
    "broken": "DataType=0x0007\nwhat is this\nParameterValue=6\n",
    "live": "DataType=0x0007\nAccessType=ro\nDefaultValue=5\n",
}
LISTED = "[ManufacturerObjects]\nSupportedObjects=2\n1=0x2001\n2=0x2FFF\n\n"
some_objects = st.lists(st.sampled_from(list(SHAPES)), min_size=1, max_size=9)
any_line = st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=20)


def recorded_and_recomputed(
    content: bytes, file: str, family: FamilyFile | None, node_id: int | None = None
) -> tuple[Coverage, Coverage] | None:
    """The coverage that snapshot.yaml keeps, and verify's; None where nothing can be taken in."""
    try:
        export = read_export(content, file, family, partial=True, node_id=node_id)
    except VaultError:
        return None
    taken = TimeTaken(datetime(2026, 3, 1, tzinfo=UTC), "now")
    made = snapshot_record(export, parse_visit("Nobody <>"), taken, Verdict(None, ()))
    kept = read_snapshot(snapshot_text(made), "snapshot.yaml")
    assert kept.coverage is not None
    return kept.coverage, Recomputer().recompute(content, family, kept).coverage


def with_objects(shapes: list[str], before: str, end: str) -> bytes:
    objects = (
        f"[{0x2000 + n:04X}]\nParameterName=Setting {n}\n{SHAPES[shape]}"
        for n, shape in enumerate(shapes)
    )
    return (before + "".join(objects).rstrip("\n") + end).encode()


@given(some_objects, st.sampled_from(["", LISTED]), st.sampled_from(["\n", "", "\n\n"]),
       st.sampled_from([None, 7]))  # fmt: skip
def test_the_coverage_of_objects_is_recorded_as_verify_works_it_out(
    shapes: list[str], before: str, end: str, node_id: int | None
) -> None:
    found = recorded_and_recomputed(with_objects(shapes, before, end), "x.dcf", None, node_id)
    if found is not None:
        recorded, recomputed = found
        assert recorded == recomputed
        assert (recorded.kind == "partial") == bool(recorded.left_out)


@given(
    st.lists(st.sampled_from(PLAIN) | st.sampled_from(ODD) | any_line, max_size=9),
    st.sampled_from(["\n", "", ";"]),
)
def test_the_coverage_of_rows_is_recorded_as_verify_works_it_out(
    family_text: str, lines: list[str], end: str
) -> None:
    family = FamilyFile("hazel", family_text.encode())
    content = written(lines, end, "\n", "HZ-04")
    found = recorded_and_recomputed(content, "x.csv", family)
    if found is not None:
        assert found[0] == found[1]


@pytest.mark.parametrize(
    ("shapes", "kind"),
    [
        (["stated", "stated alone"], "complete"),
        (["stated", "default"], "mixed"),
        (["default", "default"], "defaults_only"),
        (["stated", "default", "left out"], "partial"),
        (["default", "left out"], "partial"),
    ],
)
def test_any_mix_has_the_first_kind_that_is_true(shapes: list[str], kind: str) -> None:
    found = recorded_and_recomputed(with_objects(shapes, "", "\n"), "x.dcf", None)
    assert found is not None
    assert (found[0].kind, found[0]) == (kind, found[1])


@settings(max_examples=12)
@given(some_objects, st.lists(st.sampled_from(PLAIN) | st.sampled_from(ODD), max_size=5))
def test_a_vault_of_such_exports_verifies(
    tmp_path_factory: pytest.TempPathFactory,
    with_hazel: Path,
    shapes: list[str],
    lines: list[str],
) -> None:
    folder = tmp_path_factory.mktemp("mix")
    shutil.copytree(with_hazel, folder, dirs_exist_ok=True)
    files = {"m1/drive.dcf": with_objects(shapes, "", "\n"),
             "m2/drive.csv": written([*PLAIN[4:7], *lines], "\n", "\n", "HZ-04")}  # fmt: skip
    with Vault.open(folder / "plant") as vault:
        taken = 0
        for name, content in files.items():
            path = folder / name.replace("/", "-")
            path.write_bytes(content)
            visit = parse_visit(BY, partial=True, override_reason="a mix", node_id="7",
                                taken_at="2026-03-01T08:00:00Z")  # fmt: skip
            with suppress(Unreadable):  # nothing in it can be taken in
                ingest(vault, path, Address.parse(name.partition(".")[0]), visit)
                taken += 1
        found = verify(vault)
        assert (found.problems, found.snapshots) == ([], taken)
