"""snapshot.yaml and the commit message of a snapshot."""

from __future__ import annotations

import subprocess
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ruamel.yaml import YAML

from vault.model.errors import Damaged
from vault.model.export import SkippedLine
from vault.model.names import Address
from vault.model.snapshots import OCCASIONS, SnapshotRecord
from vault.store.files.snapshot_text import commit_message, digest, read_snapshot, snapshot_text

LIFT = Address("m1", "lift")
PLAIN = SnapshotRecord(
    taken_at=datetime(2026, 3, 1, 8, 0, tzinfo=timezone(timedelta(hours=1))),
    occasion="as-left",
    by="Mira Okafor <mira@tileworks.example>",
    export_name="lift.csv",
    export_sha256="ab" * 32,
    normalisation=1,
)
FULL = replace(
    PLAIN,
    family="hazel",
    family_sha256="cd" * 32,
    channel=2,
    nameplate={"serial": "0012", "drive": "HZ-04: yes"},
    work_order="WO-1182",
    note="Window doubled: it tripped.\nSee shift book.",
    override_reason="the drive was\nswapped",
    skipped=(SkippedLine(7, 'a;"b"', "no value"), SkippedLine(9, "", "null")),
    previous="ef" * 32,
)
TEXTS = st.text(max_size=30)
TIMES = st.datetimes(datetime(1970, 1, 2), datetime(9999, 12, 30), timezones=st.just(UTC))
RECORDS = st.builds(
    SnapshotRecord,
    taken_at=TIMES,
    occasion=st.sampled_from(OCCASIONS),
    by=TEXTS,
    export_name=TEXTS,
    export_sha256=TEXTS,
    normalisation=st.integers(0, 99),
    family=st.none() | TEXTS.filter(bool),
    family_sha256=st.none() | TEXTS,
    channel=st.none() | st.integers(0, 10**9),
    nameplate=st.dictionaries(TEXTS, TEXTS, max_size=3),
    work_order=st.none() | TEXTS,
    note=st.none() | TEXTS,
    override_reason=st.none() | TEXTS,
    skipped=st.lists(st.builds(SkippedLine, st.integers(1, 10**6), TEXTS, TEXTS), max_size=3).map(
        tuple
    ),
    previous=st.none() | TEXTS,
)


def normal(record: SnapshotRecord) -> SnapshotRecord:
    """A hash of a dictionary says nothing without its name."""
    return record if record.family else replace(record, family_sha256=None)


@given(RECORDS)
def test_every_record_reads_back_as_it_was(record: SnapshotRecord) -> None:
    assert read_snapshot(snapshot_text(record), "f") == normal(record)


@given(RECORDS)
def test_another_yaml_reader_finds_the_same(record: SnapshotRecord) -> None:
    found: Any = YAML(typ="safe", pure=True).load(snapshot_text(record))
    assert found["by"] == record.by
    assert found.get("note") == record.note
    assert dict(found.get("nameplate") or {}) == dict(record.nameplate)
    assert [s["text"] for s in found.get("skipped") or ()] == [s.text for s in record.skipped]


def test_equal_records_give_equal_bytes_whatever_order_they_were_filled_in() -> None:
    turned = replace(FULL, nameplate=dict(reversed(FULL.nameplate.items())))
    assert snapshot_text(turned) == snapshot_text(FULL)


def test_what_is_not_known_is_left_out() -> None:
    text = snapshot_text(PLAIN).decode()
    for key in ("work-order", "note", "family", "nameplate", "skipped", "even-so", "previous"):
        assert f"{key}:" not in text


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("axisvault/snapshot/1", "axisvault/snapshot/9"),
        ("occasion: as-left\n", ""),
        ("occasion: as-left", "occasion:  as-left"),
        ("occasion: as-left", "occasion: [as-left"),
        ("normalisation: 1", "normalisation: one"),
        ("2026-03-01T08", "yesterday"),
        ("sha256: abab", "sha-1: abab"),
        ("channel: 2", "channel: [2"),
    ],
)
def test_a_changed_record_is_damage_that_names_the_file(before: str, after: str) -> None:
    text = snapshot_text(FULL).decode()
    assert before in text
    with pytest.raises(Damaged) as caught:
        read_snapshot(text.replace(before, after, 1).encode(), "m1/lift/snapshot.yaml")
    assert caught.value.file == "m1/lift/snapshot.yaml"


@pytest.mark.parametrize("content", [b"", b"\xff\xfe", b"schema", b"- a\n", b"[]\n"])
def test_what_is_no_record_is_damage(content: bytes) -> None:
    with pytest.raises(Damaged):
        read_snapshot(content, "snapshot.yaml")


def test_the_digest_is_sha_256() -> None:
    # FIPS 180-4, example for "abc" (from memory).
    known = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert digest(b"abc") == known


@pytest.mark.parametrize(
    "record",
    [
        PLAIN,
        FULL,
        replace(FULL, note="Ends like trailers:\n\nOccasion: routine\nFamily: none"),
        replace(FULL, note="---\ncut here"),
        replace(FULL, note="# no comment"),
    ],
)
def test_git_reads_the_trailers_of_the_message(record: SnapshotRecord) -> None:
    message = commit_message(LIFT, record)
    parsed = subprocess.run(
        ["git", "interpret-trailers", "--parse", "--no-divider"],
        input=message, capture_output=True, text=True, check=True,
    ).stdout.splitlines()  # fmt: skip
    expected = ["Occasion: as-left", "Taken-At: 2026-03-01T08:00:00+01:00"]
    expected.append(f"Export-SHA256: {'ab' * 32}")
    if record.family:
        expected.insert(1, "Work-Order: WO-1182")
        expected += ["Family: hazel", "Even-So: the drive was swapped"]
    assert parsed == expected
    assert message.splitlines()[0] == "m1/lift: as-left"
