"""Lines that were met before give what reading the whole export gives, whatever stands in it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from vault.jobs.export.read_export import read_export
from vault.jobs.verify import values as verify_values
from vault.jobs.verify.values import Values
from vault.model.errors import VaultError
from vault.model.normalise import VERSION
from vault.store.files import yaml_text
from vault.store.index.values_agreement import told_by_reading
from vault.store.vault import FamilyFile

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


def whole(content: bytes, family: FamilyFile, channel: int | None) -> bytes | str:
    """What the export gives when all of it is read; the reason where it gives nothing."""
    try:
        read = read_export(content, "x.csv", family, channel=channel, partial=True)
    except VaultError as error:
        return str(error)
    return read.parameters_text


def again(values: Values, content: bytes, family: FamilyFile, channel: int | None) -> bytes | str:
    try:
        return values.text(content, "x.csv", family, channel, VERSION)
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


@settings(max_examples=80, deadline=None)
@given(st.lists(exports, min_size=1, max_size=5))
def test_any_exports_one_after_the_other_give_what_each_gives_by_itself(
    family_text: str, several: list[tuple[list[str], str, str, str]]
) -> None:
    family, values = FamilyFile("hazel", family_text.encode()), Values()
    for parts in several:
        content = written(*parts)
        assert again(values, content, family, None) == whole(content, family, None)


@settings(max_examples=40, deadline=None)
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
    family, values = FamilyFile("hazel", text.encode()), Values()
    for rows in several:
        lines = [f"{axis};{line}" for axis, line in rows]
        content = "\n".join(["Axis;Code;Name;Value;Unit", *lines, ""]).encode()
        assert again(values, content, family, channel) == whole(content, family, channel)


def test_a_line_that_was_met_before_is_not_read_again(
    family_text: str, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    family, values = FamilyFile("hazel", family_text.encode()), Values()
    read: list[str] = []
    original = verify_values._read

    def count(reader: object, apart: object, lines: list[str], *rest: object) -> object:
        read.extend(lines)
        return original(reader, apart, lines, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(verify_values, "_read", count)
    for lag in ("1", "2", "1"):
        content = export_text(lag).encode()
        assert again(values, content, family, None) == whole(content, family, None)
    assert len(read) == len(set(read))
    assert len([line for line in read if line.startswith("lim/lag")]) == 2


def test_another_dictionary_gives_its_own_values(family_text: str, export_text: Export) -> None:
    values, content = Values(), export_text("2").encode()
    for text in (family_text, family_text.replace("scale: 0.01", "scale: 0.02"), family_text):
        family = FamilyFile("hazel", text.encode())
        assert again(values, content, family, None) == whole(content, family, None)


def test_no_more_than_so_many_lines_are_remembered(
    family_text: str, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verify_values, "_MOST_LINES", 120)
    family, values = FamilyFile("hazel", family_text.encode()), Values()
    for number in range(200):
        content = export_text(str(number)).encode()
        assert again(values, content, family, None) == whole(content, family, None)
        assert sum(map(len, values._lines.values())) <= 120
        assert 0 < len(values._told) <= 120


def test_what_a_computed_line_tells_is_what_reading_it_tells(
    family_text: str, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    values, family = Values(), FamilyFile("hazel", family_text.encode())
    content = written([*PLAIN[2:6], *PLAIN[8:]], "\n", "\n", "HZ-04")
    for text in (content, export_text("2").encode()):
        kept = values.text(text, "x.csv", family, None, VERSION)
        lines = yaml_text.parameter_lines(kept, "x")
        wanted = [told_by_reading(line) for line in lines]
        with monkeypatch.context() as patch:
            patch.setattr(verify_values, "told_by_reading", None)  # cannot be called
            assert [values.told(line) for line in lines] == wanted
        assert {told.is_live for told in wanted} == {True, False}
    other = "  a/b: {name: Other, value: 1, raw: 1}"
    assert values.told(other) == told_by_reading(other)
    with pytest.raises(VaultError):
        values.told("  a/b: 1")


@pytest.mark.parametrize("ends", ["\n\r\n", "\r\n\n", "\r\r\n", "\n\r", "\r"])
def test_mixed_line_ends_give_what_reading_the_whole_gives(family_text: str, ends: str) -> None:
    family, values = FamilyFile("hazel", family_text.encode()), Values()
    for end in ("\n", "\r\n"):
        plain = written(PLAIN[4:7], "\n", end, "HZ-04")
        mixed = plain.replace(b"100;mm/s" + end.encode(), b"100;mm/s" + ends.encode())
        for content in (plain, mixed, mixed[: -len(end)]):
            assert again(values, content, family, None) == whole(content, family, None)


def test_files_of_the_example_machines_give_what_was_kept(works: Path) -> None:
    """Every format and family of the example, through one memory for all."""
    from vault.jobs.verify.verify import verify
    from vault.store.vault import Vault

    with Vault.open(works) as vault:
        outcome = verify(vault)
        assert outcome.problems == []
        assert outcome.snapshots == vault.index.count() > 20


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
    family, values = FamilyFile("hazel", family_text.encode()), Values()
    for lines in (["set/1;Setting 1;1;", "set/2;Setting 2;2;"], ["set/1;Setting 1;5;"], then):
        content = written(lines, "\n", "\n", "HZ-04")
        assert again(values, content, family, None) == whole(content, family, None)
