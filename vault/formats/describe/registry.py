"""Which kind of device description a file is, and what reads it: `describe` reads them all.

Kinds: `eds` (CiA 306), `xdd` (CiA 311), `esi` (ETG.2000), `cip-eds` (EDS of CIP networks). A `dcf`
and an `xdc` hold values and are no descriptions, but can be read as one.
"""

from __future__ import annotations

import re

from vault.formats import cia311, dcf, xdc
from vault.formats.describe.cip_eds import read_cip_eds
from vault.formats.describe.cip_text import is_cip_eds
from vault.formats.describe.description import Description, without_bad_ranges
from vault.formats.describe.eds import read_eds, states_values
from vault.formats.describe.esi import read_esi
from vault.formats.describe.xdd import read_xdd
from vault.formats.ini_lines import ENCODINGS
from vault.formats.text_encoding import decode
from vault.formats.xml_text import root_of
from vault.model.errors import Unreadable, WrongUsage

_MOST_BYTES = 32 * 1024 * 1024
_OBJECT = re.compile(r"^[ \t]*\[[ \t]*[0-9a-f]{4}[ \t]*\]", re.IGNORECASE | re.MULTILINE)


def describe(content: bytes, file: str, *, device: str | None = None) -> Description:
    """Read a device description, or what a configuration says beside its values.

    `device` names one of several in an ESI (`vault.formats.describe.esi.device_names` lists them).
    Raises Unreadable with file, line and reason for what is none or cannot be read, WrongUsage
    where a device must be named, or is where none can be.
    """
    if len(content) > _MOST_BYTES:
        reason = f"a description of more than {_MOST_BYTES // 2**20} MiB is not read"
        raise Unreadable(reason, file=file, line=1)
    kind = _kind(content, file)
    if kind is None:
        hint = "EDS, DCF, XDD, XDC, ESI, and EDS of CIP networks are"
        raise Unreadable("this is no device description that we read", file=file, line=1, hint=hint)
    if kind != "esi" and device is not None:
        raise WrongUsage("the file describes one device: none is to be named", file=file)
    if kind == "esi":
        found = read_esi(content, file=file, device=device)
    else:
        read = {"cip-eds": read_cip_eds, "xdd": read_xdd, "xdc": read_xdd}.get(kind, read_eds)
        found = read(content, file=file)
    return without_bad_ranges(found)


def is_description(content: bytes, file: str) -> str | None:
    """The kind of description that a file is; None for what is none, as what holds values."""
    kind = _kind(content, file)
    return None if kind in ("dcf", "xdc") else kind


def _kind(content: bytes, file: str) -> str | None:
    root, _ = root_of(content)
    if root in ("EtherCATInfo", "EtherCATInfoList"):
        return "esi"
    if root in (cia311.ROOT, "ISO15745Profile"):
        return "xdc" if xdc.recognises(content, file) else "xdd"
    if root is not None or b"[" not in content:  # without a section it is none of the others
        return None
    try:
        text, _ = decode(content, ENCODINGS, file=file)
    except Unreadable:
        return None
    if is_cip_eds(text):
        return "cip-eds"
    if not dcf.recognises(content, file) or not _OBJECT.search(text):
        return None
    return "dcf" if states_values(text) else "eds"
