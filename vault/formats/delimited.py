"""Exports as delimited text: nameplate lines, then a table of parameters.

Quoting follows RFC 4180; delimiter, decimal mark, headings and labels come from the family's
`ExportDialect`. Line numbers count from 1 and name the line where a row starts.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from vault.formats.axis_columns import matches_by_axis, reads_by_axis, writes_by_axis
from vault.formats.delimited_back import write_back
from vault.formats.delimited_rows import Layout, Scan
from vault.formats.headings import told_twice
from vault.formats.nameplate import HEAD_LINES, fits, label_line, labelled, nameplate_of
from vault.formats.rows import (
    choose,
    entry_from,
    needed,
    without_section_first,
)
from vault.formats.text_encoding import decode, encode, head_text, split_lines
from vault.formats.text_whole import ends_of, remarks_of
from vault.formats.written_lines import check_entries
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, SkippedLine

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.model.export_dialect import ExportDialect

__all__ = ["matches", "read", "recognises", "write", "write_back"]


def recognises(content: bytes, file: str) -> bool:
    """Say whether the first lines share a delimiter: a weak sign."""
    head = (head_text(content, may_be_cut=True) or "").splitlines()[:HEAD_LINES]
    lines = [line for line in head if line.strip()]
    enough = min(3, max(2, len(lines)))
    return any(
        number >= enough
        for delimiter in ",;\t|"
        for count, number in Counter(line.count(delimiter) for line in lines).items()
        if count
    )


@matches_by_axis
def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether the first 64 KiB hold the dialect's header row and all it recognises.

    A key of `dialect.recognise` is a nameplate label or field, or `text` for any of the first
    40 lines; its regular expression is searched there.
    """
    text, layout = head_text(content, dialect.encoding), Layout(dialect)
    if text is None or not layout.may_be_in(text):
        return False
    lines = split_lines(text)
    scan = Scan(lines, layout)
    if not scan.run(header_only=True):
        return False
    return fits(dialect.recognise, lines, scan.nameplate, layout.labels)


@reads_by_axis
def read(
    content: bytes,
    *,
    file: str,
    dialect: ExportDialect | None,
    channel: int | None,
    node_id: int | None = None,
) -> Listing:
    """Read one axis of an export. A table has no values that refer to a node id.

    Bad rows go to `skipped` and do not hide the good ones. Raises Unreadable when the text
    cannot be decoded or holds no table of this dialect, WrongUsage without a dialect, when
    several channels are there and none was chosen, or when the chosen one is missing.
    `encoding` of the result is a Python codec name, or `utf-16-be-sig` for big-endian UTF-16
    with a byte order mark; `utf-8-sig` and `utf-16` (little-endian) had a mark too.
    """
    dialect = needed(dialect, "delimited text", file)
    text, encoding = decode(content, dialect.encoding, file=file, cut_off=True)
    if not text.strip():
        raise Unreadable("the file is empty", file=file, line=1)
    lines = split_lines(text)
    return list_lines(lines, file=file, dialect=dialect, channel=channel, encoding=encoding)


def list_lines(
    lines: list[str],
    *,
    file: str,
    dialect: ExportDialect,
    channel: int | None,
    encoding: str = "utf-8",
) -> Listing:
    """Read one axis of the lines of an export, each with its end; as `read`, and raises as that."""
    scan = Scan(lines, Layout(dialect))
    if not scan.run():
        wanted = f"{dialect.columns['code']!r} and {dialect.columns['value']!r}"
        raise Unreadable(
            f"no row holds the headings {wanted}",
            file=file,
            line=1,
            hint="this may be an export of another family: name it with --family",
        )
    channels = tuple(sorted(scan.channels))
    chosen = choose(channels, channel, file)
    skipped = [bad for owner, bad in scan.skipped if owner is None or owner == chosen]
    entries = _entries(scan, chosen, dialect, skipped)
    nameplate, taken_at = nameplate_of(scan.nameplate, dialect, chosen, skipped)
    skipped.sort(key=lambda bad: bad.line)
    return Listing(
        format="delimited",
        entries=tuple(entries),
        nameplate=nameplate,
        skipped=tuple(skipped),
        holds=dialect.holds,
        encoding=encoding,
        channel=chosen,
        channels=channels,
        taken_at=taken_at,
        remarks=(
            *_twice(scan, dialect),
            *remarks_of(
                scan.lines,
                scan.nameplate,
                len(scan.rows) + len(scan.skipped),
                lambda line: scan.layout.is_aside(line) and not _is_begun(line, dialect),
            ),
        ),
        ends=ends_of(
            scan.lines, max((line for line, _, _ in scan.rows), default=0), scan.layout.is_aside
        ),
    )


@writes_by_axis
def write(listing: Listing, *, dialect: ExportDialect | None) -> bytes:
    """Write an export that reads back with the same entries, nameplate and time.

    Texts are written as they are: a value that a spreadsheet would take for a formula stays
    one. Nameplate fields for which the dialect has no label are left out. Raises WrongUsage
    without a dialect, or when a text cannot be written in the export's encoding or would read
    back as another.
    """
    if dialect is None:
        raise WrongUsage("delimited text is written with a family's dictionary")
    layout = Layout(dialect)
    owned = [(f"nameplate {name}", line) for name, line in _nameplate_lines(listing, layout)]
    rule, columns = dialect.channel, list(dialect.columns)
    headings = list(dialect.columns.values())
    fixed: list[str] = []
    if rule and rule.column:
        headings.insert(0, rule.column)
        fixed = ["" if listing.channel is None else str(listing.channel)]
    elif rule and rule.section and listing.channel is not None:
        owned.append(("the section", rule.section.replace("{n}", str(listing.channel))))
    owned.append(("the header row", layout.row(headings)))
    section = ""
    for entry, cells in without_section_first(listing.entries, dialect):
        if dialect.section and "section" not in columns and section != cells["section"]:
            section = cells["section"]
            owned.append((f"section {section}", dialect.section.replace("{name}", section)))
        owned.append((entry.code, layout.row(fixed + [cells[column] for column in columns])))
    line_end = "\r\n" if dialect.line_end == "crlf" else "\n"
    encoded = encode(owned, listing.encoding, line_end)
    text = "".join(line + line_end for _, line in owned)
    if not _reads_back(encoded, text, dialect):
        raise WrongUsage(f"texts in {listing.encoding} would read back as other characters")
    if dialect.is_of_format_2:
        read_again = list_lines(split_lines(text), file="", dialect=dialect, channel=None)
        check_entries(listing, [*read_again.entries, *read_again.skipped], dialect)
    return encoded


def _reads_back(encoded: bytes, text: str, dialect: ExportDialect) -> bool:
    try:
        return decode(encoded, dialect.encoding)[0] == text
    except Unreadable:
        return False


def _twice(scan: Scan, dialect: ExportDialect) -> Iterator[SkippedLine]:
    """Headings of codes and values that stand several times in the last header row."""
    at, _ = scan.header
    row = [cell.strip().casefold() for cell in scan.layout.record(scan.lines, at)[0]]
    for name, heading in zip(("code", "value"), scan.layout.headings, strict=False):
        if (count := row.count(heading or "")) > 1:
            yield SkippedLine(at + 1, "", told_twice(dialect.columns[name], count))


def _is_begun(line: str, dialect: ExportDialect) -> bool:
    """Whether a blank line is a row whose first cells are empty."""
    return line.isspace() and dialect.delimiter in line


def _entries(
    scan: Scan, chosen: int | None, dialect: ExportDialect, skipped: list[SkippedLine]
) -> list[Entry]:
    """Entries of the chosen channel and of those that all share; what stands twice is skipped."""
    first: dict[str, int] = {}
    entries: list[Entry] = []
    for line, channel, cells in scan.rows:
        if channel is not None and channel != chosen:
            continue
        if first.setdefault(cells[0], line) != line:
            found: Entry | str = f"{cells[0]} is given already in line {first[cells[0]]}"
        else:
            found = entry_from(dialect, line, *cells[:9])  # without its channel
        if isinstance(found, Entry):
            entries.append(found)
        else:
            skipped.append(SkippedLine(line, scan.lines[line - 1].rstrip("\r\n"), found))
    return entries


def _nameplate_lines(listing: Listing, layout: Layout) -> Iterator[tuple[str, str]]:
    for label, name, value in labelled(listing, layout.dialect):
        if layout.separator == layout.delimiter:
            yield name, layout.row([label, value])
            continue
        quote = layout.dialect.quote
        is_cut = value.endswith(layout.delimiter)  # as those that fill up short rows
        if is_cut or "\n" in value or "\r" in value or (quote and value.startswith(quote)):
            value = layout.quoted(value, force=True)
        yield name, label_line(label, layout.separator, value)
