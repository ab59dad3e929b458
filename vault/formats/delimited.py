"""Exports as delimited text: nameplate lines, then a table of parameters.

Quoting follows RFC 4180; delimiter, decimal mark, headings and labels come from the family's
`ExportDialect`. Line numbers count from 1 and name the line where a row starts.
"""

from __future__ import annotations

from collections import Counter
from datetime import datetime
from functools import lru_cache
from typing import TYPE_CHECKING

from vault.formats.delimited_rows import Layout, NameplateLine, Scan, plain_label
from vault.formats.delimited_whole import ends_of, remarks_of
from vault.formats.rows import choose, time_text
from vault.formats.text_encoding import decode, encode, split_lines
from vault.model.datatypes import BY_NAME
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, Scalar, SkippedLine
from vault.model.numerals import parse_number
from vault.model.patterns import is_found

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.model.export_dialect import ExportDialect

_HEAD_BYTES = 64 * 1024
_HEAD_LINES = 40


def recognises(content: bytes, file: str) -> bool:
    """Say whether the first lines share a delimiter: a weak sign, to be asked last."""
    try:
        text, _ = decode(content[:_HEAD_BYTES], ("utf-8", "windows-1252", "utf-16"), final=False)
    except Unreadable:
        return False
    lines = [line for line in text.splitlines()[:_HEAD_LINES] if line.strip()]
    enough = min(3, max(2, len(lines)))
    return any(
        number >= enough
        for delimiter in ",;\t|"
        for count, number in Counter(line.count(delimiter) for line in lines).items()
        if count
    )


def matches(content: bytes, dialect: ExportDialect) -> bool:
    """Say whether the first 64 KiB hold the dialect's header row and all it recognises.

    A key of `dialect.recognise` is a nameplate label or field, or `text` for any of the first
    40 lines; its regular expression is searched there.
    """
    try:
        text, _ = decode(content[:_HEAD_BYTES], dialect.encoding, final=len(content) <= _HEAD_BYTES)
    except Unreadable:
        return False
    layout = Layout(dialect)
    if not layout.may_be_in(text):
        return False
    lines = split_lines(text)
    scan = Scan(lines, layout)
    if not scan.run(header_only=True):
        return False
    for key, pattern in dialect.recognise.items():
        if key == "text":
            places = [line.rstrip("\r\n") for line in lines[:_HEAD_LINES]]
        else:
            label = plain_label(key)
            places = [
                line.value
                for line in scan.nameplate
                if line.label == label or layout.labels.get(line.label) == key
            ]
        if not any(is_found(pattern, place) for place in places):
            return False
    return True


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
    if dialect is None:
        raise WrongUsage(
            "delimited text is read with a family's dictionary", file=file, hint="--family NAME"
        )
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
    nameplate, taken_at = _nameplate(scan, chosen, dialect, skipped)
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
        remarks=remarks_of(scan),
        ends=ends_of(scan),
    )


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
    for entry in listing.entries:
        cells = _cells(entry, dialect)
        owned.append((entry.code, layout.row(fixed + [cells[column] for column in columns])))
    line_end = "\r\n" if dialect.line_end == "crlf" else "\n"
    encoded = encode(owned, listing.encoding, line_end)
    text = "".join(line + line_end for _, line in owned)
    if not _reads_back(encoded, text, dialect):
        raise WrongUsage(f"texts in {listing.encoding} would read back as other characters")
    return encoded


def _reads_back(encoded: bytes, text: str, dialect: ExportDialect) -> bool:
    try:
        return decode(encoded, dialect.encoding)[0] == text
    except Unreadable:
        return False


def _scalar(text: str, decimal: str, thousands: str) -> tuple[Scalar, str]:
    """A number where the whole cell is one, and its spelling where the number loses it."""
    if len(text) > 1 and text[0] == "0" and text.isdigit():
        return text, ""
    try:
        number = parse_number(text, decimal, thousands)
    except ValueError:  # more digits than Python converts
        return text, ""
    if number is None:
        return text, ""
    return number, "" if isinstance(number, int) and str(number) == text else text


# Bulk loading meets the same few thousand cells over and over.
_remembered = lru_cache(maxsize=1 << 14)(_scalar)


def _entries(
    scan: Scan, chosen: int | None, dialect: ExportDialect, skipped: list[SkippedLine]
) -> list[Entry]:
    """Entries of the chosen channel and of those that all share; what stands twice is skipped."""
    decimal, thousands = dialect.decimal, dialect.thousands

    def number_or_text(cell: str) -> tuple[Scalar, str]:
        convert = _remembered if len(cell) <= 40 else _scalar
        return convert(cell, decimal, thousands)

    first: dict[str, int] = {}
    entries: list[Entry] = []
    for line, channel, cells in scan.rows:
        if channel is not None and channel != chosen:
            continue
        code, value, name, unit, kind, access, low, high, default, _ = cells
        if first.setdefault(code, line) != line:
            reason = f"{code} is given already in line {first[code]}"
            text = scan.lines[line - 1].rstrip("\r\n")
            skipped.append(SkippedLine(line, text, reason))
            continue
        data_type = BY_NAME.get(kind)
        is_text = data_type is not None and not data_type.is_number
        written, spelled = (value, "") if is_text else number_or_text(value)
        usual = (default if is_text else number_or_text(default)[0]) if default else None
        entries.append(
            Entry(
                code,
                written,
                line,
                name,
                unit,
                kind if data_type else None,
                access.lower() or None,
                number_or_text(low)[0] if low else None,
                number_or_text(high)[0] if high else None,
                usual,
                spelled,
            )
        )
    return entries


def _nameplate(
    scan: Scan, chosen: int | None, dialect: ExportDialect, skipped: list[SkippedLine]
) -> tuple[dict[str, str], str | None]:
    """Nameplate fields, the channel's own before shared ones, and the time among them."""
    found: dict[str, NameplateLine] = {}
    for scope in (None,) if chosen is None else (chosen, None):
        for line in scan.nameplate:
            name = scan.layout.labels.get(line.label)
            if name and line.channel == scope:
                found.setdefault(name, line)
    time = found.pop("taken_at", None)
    taken_at = None
    if time:
        try:
            taken_at = time_text(time.value, dialect.time_format)
        except ValueError:
            form = dialect.time_format or "RFC 3339"
            reason = f"{time.value!r} is not a time as {form} has it"
            skipped.append(SkippedLine(time.line, time.spelled, reason))
    return {name: line.value for name, line in found.items()}, taken_at


def _nameplate_lines(listing: Listing, layout: Layout) -> Iterator[tuple[str, str]]:
    values = dict(listing.nameplate)
    if listing.taken_at is not None:
        form = layout.dialect.time_format
        taken_at = listing.taken_at
        values["taken_at"] = datetime.fromisoformat(taken_at).strftime(form) if form else taken_at
    for label, name in layout.dialect.nameplate.items():
        if not (value := values.pop(name, "")):
            continue
        if layout.separator == layout.delimiter:
            yield name, layout.row([label, value])
            continue
        quote = layout.dialect.quote
        if "\n" in value or "\r" in value or (quote and value.startswith(quote)):
            value = layout.quoted(value, force=True)
        gap = " " if layout.separator == ":" else ""
        yield name, f"{label.rstrip().removesuffix(layout.separator)}{layout.separator}{gap}{value}"


def _cells(entry: Entry, dialect: ExportDialect) -> dict[str, str]:
    mark = dialect.decimal

    def cell(value: Scalar | None) -> str:
        if value is None or isinstance(value, str):
            return value or ""
        return str(value).replace(".", mark)

    spelled = entry.text  # of the file it came from: good while it still says the same
    if not spelled or _scalar(spelled, mark, dialect.thousands)[0] != entry.written:
        spelled = cell(entry.written)
    return {
        "code": entry.code,
        "value": spelled,
        "name": entry.name,
        "unit": entry.unit,
        "low": cell(entry.low),
        "high": cell(entry.high),
        "default": cell(entry.default),
        "access": entry.access or "",
        "type": entry.data_type or "",
    }
