"""Files of which no dictionary is drafted: what they are, and what to do with them instead."""

from __future__ import annotations

from vault.formats import dcf, xdc
from vault.formats.describe.description import KINDS
from vault.formats.describe.registry import is_description
from vault.formats.file_kind import file_kind
from vault.formats.text_encoding import decode
from vault.formats.xml_text import root_of
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import SkippedLine

_BESIDE = "give it with --describe FILE beside an export that holds a drive's values"
_HEAD_BYTES = 64 * 1024
_RECORDS = (b"<", b"{", b"[")


def check_is_export(content: bytes, file: str) -> None:
    """Refuse what holds no drive's values, and what needs no dictionary.

    Raises Unreadable and WrongUsage with what the file is.
    """
    if (kind := is_description(content, file)) is not None:
        raise Unreadable(f"this is {KINDS[kind]}", file=file, line=1, hint=_BESIDE)
    is_xml = root_of(content)[0] is not None
    if xdc.recognises(content, file) or (not is_xml and dcf.recognises(content, file)):
        name = "XDC" if is_xml else "DCF"
        reason = f"this is {name}, which says itself what its parameters are: no dictionary needed"
        raise WrongUsage(reason, file=file, hint="axisvault ingest FILE --to MACHINE/AXIS")
    known = file_kind(content, file)
    if known is None:
        return
    if known.describes:
        raise Unreadable(f"this is {known.what}", file=file, line=1, hint=known.next_step)
    begin = content.lstrip(b"\xef\xbb\xbf \t\r\n")[:1]
    if begin not in _RECORDS and _is_usual_text(content):
        raise Unreadable(f"this is {known.what}", file=file, line=1, hint=known.next_step)


def _is_usual_text(content: bytes) -> bool:
    """Whether a file is text in an encoding in which its kind can be told."""
    try:
        text, _ = decode(content[:_HEAD_BYTES], ("utf-8", "windows-1252", "utf-16"), final=False)
    except Unreadable:
        return False
    return "\0" not in text


def mostly_refused(file: str, form: str, lines: tuple[SkippedLine, ...]) -> Unreadable:
    """The refusal of an export of which most lines cannot be read."""
    return Unreadable(
        f"most of it cannot be read as {form}: {lines[0].reason}",
        file=file,
        line=lines[0].line,
        hint="say what it is, as --say 'delimiter=;' or --say columns.value=HEADING",
        problems=lines,
    )


def nothing_found(content: bytes, file: str) -> VaultError:
    """The refusal of a file in which no list of parameters is found."""
    kind = file_kind(content, file)
    what = f"this is {kind.what}, and " if kind is not None else ""
    return Unreadable(
        f"{what}no list of parameters is found in it: codes with their values under headings, or "
        "one code with its value on each line",
        file=file,
        line=1,
        hint="say what it is: axisvault family draft FILE --name NAME "
        "--say columns.code=HEADING --say columns.value=HEADING",
    )
