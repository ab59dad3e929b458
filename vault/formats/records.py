"""Exports as XML or JSON, where each parameter is a record at a path that the dictionary names.

Paths are those of `vault.model.record_path`. XML says its own encoding; JSON is in one of the
dialect's, or UTF-16. Of what a path leads to the first counts; a code or a value has to be the only
one. JSON `null` is no value, its `true` and `false` are words.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Container, Iterator, Mapping
from decimal import Decimal
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from vault.formats.axis_columns import matches_by_axis, reads_by_axis, writes_back_by_axis
from vault.formats.nameplate import (
    HEAD_LINES,
    NameplateLine,
    fits,
    labels_of,
    nameplate_of,
    plain_label,
)
from vault.formats.record_trees import Chain, Node, Tree, head_tree, is_xml, read_tree
from vault.formats.rows import Row, channel_of, entry_of, needed, read_rows
from vault.formats.spelled_like import spelled_like
from vault.formats.text_encoding import split_lines
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, Scalar, SkippedLine
from vault.model.record_path import place_path, root_path

if TYPE_CHECKING:
    from vault.model.export_dialect import ExportDialect

_JSON = re.compile(rb"\{\s*[\"}]|\[\s*[\"{\[]")  # and no heading of INI text
_HEAD_BYTES = (64 * 1024, 4 * 1024 * 1024)  # as much as holds records as a rule; and at most
_HEAD_RECORDS = 20
_MOST_RECORDS = 400_000


class _Record(NamedTuple):
    """A record as a row, all that is around it, and the place of its value.

    `fault` is why it cannot be understood, empty where it can.
    """

    row: Row
    chain: Chain
    value: Node | None
    fault: str

    def is_of(self, channel: int | None) -> bool:
        """Whether it is of an axis, or of all."""
        return channel_of(self.row)[0] in (None, channel)


def recognises(content: bytes, file: str) -> bool:
    """Say whether this may be XML or JSON: nobody can read it without a dictionary."""
    start = content[:1024].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
    return is_xml(content) or _JSON.match(start) is not None


@matches_by_axis
def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether the first 4 MiB hold a record with a code and a value, and what is recognised.

    A key of `dialect.recognise` is a path of the nameplate or its field, or `text` for any of the
    first 40 lines. The whole file is read only where a nameplate that counts stands further on.
    """
    try:
        tree = _head_with_record(content, dialect)
        if tree is None:
            return False
        wanted = _nameplate_keys(dialect)
        stated = _stated(tree, dialect)
        if wanted - {line.label for line in stated} and len(content) > _HEAD_BYTES[0]:
            stated = _stated(read_tree(content, dialect.encoding, file=""), dialect)
    except Unreadable:
        return False
    lines = split_lines(tree.text, HEAD_LINES)
    return fits(dialect.recognise, lines, stated, labels_of(dialect))


def _head_with_record(content: bytes, dialect: ExportDialect) -> Tree | None:
    """As much of a file as it takes to see a record; None without one."""
    for size in _HEAD_BYTES:
        tree = head_tree(content, dialect.encoding, size)
        if tree is None or _has_record(tree, dialect):
            return tree
        if len(content) <= size:
            break
    return None


def _has_record(tree: Tree, dialect: ExportDialect) -> bool:
    code, value = (place_path(dialect.columns[name]) for name in ("code", "value"))
    return any(
        any(_text(tree, node) for node in tree.reach(chain, code)) and tree.reach(chain, value)
        for chain, _ in islice(tree.records(root_path(dialect.record or "")), _HEAD_RECORDS)
    )


def _nameplate_keys(dialect: ExportDialect) -> set[str]:
    """Paths of the nameplate that a pattern is of, in comparable form."""
    keys = dialect.recognise.keys() - {"text"}
    return {
        plain_label(path)
        for path, field in dialect.nameplate.items()
        if field in keys or path in keys
    }


def _stated(
    tree: Tree,
    dialect: ExportDialect,
    past: Container[int] = (),
    first: Container[int] = (),
) -> list[NameplateLine]:
    """The nameplate, of each path the first place that has a text, as lines of a table's head.

    `past` are places of other axes, `first` those around the values of this one.
    """
    found = []
    for path in dialect.nameplate:
        for node in tree.reach((), root_path(path), past, first):
            if text := _text(tree, node):
                line = tree.line(node)
                found.append(NameplateLine(None, line, plain_label(path), text, f"{path} {text}"))
                break
    return found


def _text(tree: Tree, node: Node) -> str:
    try:
        tree.cell(node)
    except ValueError:
        return ""
    return tree.spelling(node).strip()


@reads_by_axis
def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an export. Records have no values that refer to a node id.

    Records that cannot be understood go to `skipped`, with their path, and do not hide the good
    ones. Raises Unreadable when the file is no whole XML or JSON or has no record of this dialect,
    WrongUsage without a dialect, when several channels are there and none was chosen, or when the
    chosen one is missing.
    """
    tree, records, skipped, dialect = _opened(content, dialect, file)
    rows = read_rows((one.row for one in records if not one.fault), dialect, channel, file)
    skipped += rows.skipped
    skipped += [r.row.skipped(r.fault) for r in records if r.fault and r.is_of(rows.channel)]
    others = {id(node) for r in records if not r.is_of(rows.channel) for node in r.chain[:-1]}
    own = {id(node) for r in records if r.is_of(rows.channel) for node in r.chain[:-1]}
    first = own if rows.channel is not None else set()  # an axis may have no values at all
    stated = _stated(tree, dialect, others - own, first)
    nameplate, taken_at = nameplate_of(stated, dialect, None, skipped)
    skipped.sort(key=lambda bad: bad.line)
    return Listing(
        format="records",
        entries=rows.entries,
        nameplate=nameplate,
        skipped=tuple(skipped),
        holds=dialect.holds,
        encoding=tree.encoding,
        channel=rows.channel,
        channels=rows.channels,
        taken_at=taken_at,
    )


@writes_back_by_axis
def write_back(
    original: bytes,
    values: Mapping[str, Scalar],
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    drop: Collection[str] = (),
) -> bytes:
    """Put values into an original, by code; every byte that is none of them stays.

    Numbers are spelled as the original spells its own, a JSON number as JSON has it. A record of
    `drop` is taken out, in JSON with its comma. Raises WrongUsage naming a code that is not there
    once, or whose place cannot hold its value; else what `read` does.
    """
    tree, there, dialect = _by_code(original, dialect, channel, file)
    for code in (*values, *drop):
        if code not in there:
            raise WrongUsage(f"{code} is not in the file", file=file)
    changes: list[tuple[Node, str]] = []
    wanted = {code: tree.spelling(node) for code, (_, node) in _once(there)}
    try:
        for code, value in values.items():
            if code in drop:
                continue
            if len(there[code]) > 1:
                lines = " and ".join(str(record.row.line) for record, _ in there[code])
                raise WrongUsage(f"{code} stands in lines {lines}: which one holds?")
            node = there[code][0][1]
            spelled = spelled_like(wanted[code], value, _own_marks(tree, node, dialect))
            if spelled != wanted[code]:  # else it keeps its escapes too
                wanted[code] = tree.fitting(code, node, spelled)
                changes.append((node, wanted[code]))
        gone = [record.chain[-1] for code in drop for record, _ in there[code]]
        content = tree.replaced(changes, gone)
    except WrongUsage as error:
        raise WrongUsage(error.message, file=file, line=error.line) from error
    _read_again(content, wanted, values, drop, dialect, channel, file)
    return content


_There = dict[str, list[tuple[_Record, Node]]]


def _by_code(
    content: bytes, dialect: ExportDialect | None, channel: int | None, file: str
) -> tuple[Tree, _There, ExportDialect]:
    """Every good record of an axis with the place of its value, by its code."""
    tree, records, _, dialect = _opened(content, dialect, file)
    records = [record for record in records if not record.fault]
    chosen = read_rows((record.row for record in records), dialect, channel, file).channel
    there: _There = {}
    for record in records:
        entry = entry_of(record.row, dialect) if record.is_of(chosen) else None
        if isinstance(entry, Entry) and record.value is not None:
            there.setdefault(entry.code, []).append((record, record.value))
    return tree, there, dialect


def _once(there: _There) -> Iterator[tuple[str, tuple[_Record, Node]]]:
    return ((code, records[0]) for code, records in there.items())


def _read_again(
    content: bytes,
    wanted: Mapping[str, str],
    values: Mapping[str, Scalar],
    drop: Collection[str],
    dialect: ExportDialect,
    channel: int | None,
    file: str,
) -> None:
    """Hold what was written against what was to be. Raises WrongUsage where they differ."""
    kept = {code: text for code, text in wanted.items() if code not in drop}
    if not kept:
        return
    try:
        tree, there, _ = _by_code(content, dialect, channel, file)
    except (Unreadable, WrongUsage) as error:
        raise WrongUsage(f"{', '.join([*values, *drop])}: {error.message}", file=file) from error
    found = {code: tree.spelling(node) for code, (_, node) in _once(there)}
    if found != kept:
        code = next((code for code in kept if found.get(code) != kept[code]), next(iter(values)))
        raise WrongUsage(f"{code}: what would be written reads back as something else", file=file)


def _own_marks(tree: Tree, node: Node, dialect: ExportDialect) -> ExportDialect:
    """The dialect by which a value is spelled: a number of JSON has none but JSON's own marks."""
    if isinstance(tree.cell(node), str):
        return dialect
    plain = {"decimal": ".", "thousands": "", "unit_in_value": False, "hex_and_binary": False}
    return dialect.model_copy(update=plain)


def _opened(
    content: bytes, dialect: ExportDialect | None, file: str
) -> tuple[Tree, list[_Record], list[SkippedLine], ExportDialect]:
    """The file, its records, and what of it cannot be understood."""
    dialect = needed(dialect, "XML or JSON", file)
    tree = read_tree(content, dialect.encoding, file=file)
    skipped = [
        SkippedLine(line, name, f"{name!r} stands twice in the same object")
        for line, name in tree.twice()
    ]
    records: list[_Record] = []
    for record in _records(tree, dialect):
        if len(records) >= _MOST_RECORDS:
            reason = f"more than {_MOST_RECORDS} records are not read"
            raise Unreadable(reason, file=file, line=record.row.line)
        records.append(record)
    if not records:
        raise Unreadable(
            f"nothing stands at {dialect.record!r} in this {tree.name}",
            file=file,
            line=1,
            hint="this may be an export of another family: name it with --family",
        )
    return tree, records, skipped, dialect


def _records(tree: Tree, dialect: ExportDialect) -> Iterator[_Record]:
    columns = [(column, place_path(path), path) for column, path in dialect.columns.items()]
    if dialect.channel is not None and dialect.channel.column is not None:
        column = dialect.channel.column
        columns.append(("channel", place_path(column), column))
    for chain, place in tree.records(root_path(dialect.record or "")):
        cells: dict[str, str | int | Decimal] = {}
        value, reason = None, ""
        for column, path, spelled in columns:
            if not (nodes := tree.reach(chain, path)):
                continue
            if len(nodes) > 1 and column in ("code", "value"):
                reason = f"{spelled} stands {len(nodes)} times in it"
            if column == "value":
                value = nodes[0]
            try:
                cells[column] = tree.cell(nodes[0])
            except ValueError as error:
                reason = str(error)
        yield _Record(Row(cells, tree.line(chain[-1]), place), chain, value, reason)
