"""Workbooks for tests: OpenDocument and packed archives written by hand."""

from __future__ import annotations

import zipfile
from collections.abc import Mapping
from io import BytesIO

MIMETYPE = "application/vnd.oasis.opendocument.spreadsheet"
_NAMES = " ".join(
    f'xmlns:{prefix}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for prefix, name in (("office", "office"), ("table", "table"), ("text", "text"),
                         ("style", "style"))
)  # fmt: skip


def packed(members: Mapping[str, str | bytes]) -> bytes:
    """A zip archive of some members."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            kind = zipfile.ZIP_STORED if name == "mimetype" else zipfile.ZIP_DEFLATED
            archive.writestr(name, content, kind)
    return stream.getvalue()


def repacked(content: bytes, changes: Mapping[str, bytes]) -> bytes:
    """An archive with other content of some members, or with more of them."""
    with zipfile.ZipFile(BytesIO(content)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    return packed({**members, **changes})


def open_document(*rows: str, styles: str = "", table: str = "", **more: str) -> bytes:
    """A workbook in OpenDocument form with rows given in its own XML."""
    body = "".join(f"<table:table-row>{row}</table:table-row>" for row in rows)
    content = (
        f'<?xml version="1.0"?><office:document-content {_NAMES}>'
        f"<office:automatic-styles>{styles}</office:automatic-styles><office:body>"
        f'<office:spreadsheet><table:table table:name="Parameters"{table}>{body}</table:table>'
        "</office:spreadsheet></office:body></office:document-content>"
    )
    manifest = '<manifest xmlns="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    members = {"mimetype": MIMETYPE, "content.xml": content, "META-INF/manifest.xml": manifest}
    return packed({**members, **more})


def cell(value: object, kind: str = "string", shown: str | None = None, more: str = "") -> str:
    """A cell of OpenDocument (part 1, 9.1.4 and 19.385; from memory)."""
    key = {"date": "date-value", "boolean": "boolean-value", "time": "time-value"}.get(kind)
    key = key or ("string-value" if kind == "string" else "value")
    stated = "" if kind == "string" else f' office:{key}="{value}"'
    text = f"<text:p>{value if shown is None else shown}</text:p>"
    return f'<table:table-cell office:value-type="{kind}"{stated}{more}>{text}</table:table-cell>'


def row_of(*values: object) -> str:
    """Cells of a row: numbers as numbers, all else as text."""
    return "".join(
        cell(value, "float") if isinstance(value, int | float) else cell(value) for value in values
    )
