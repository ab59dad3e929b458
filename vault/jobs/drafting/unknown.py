"""Whether an export that no family takes is one to draft from, and what to call its family."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from contextlib import suppress
from typing import TYPE_CHECKING
from unicodedata import normalize

from vault.formats.file_kind import file_kind
from vault.formats.registry import RecognisesFamilies, format_named, format_names
from vault.formats.zipped import is_packed, members
from vault.jobs.drafting.recognition import other_families
from vault.jobs.export.recognise import recognise
from vault.model.errors import VaultError

if TYPE_CHECKING:
    from vault.store.vault import FamilyFile

_NO_NAME = re.compile(r"[^a-z0-9]+")
_LONGEST = 24
# Of what is no text, these are read by a dictionary.
_CONTAINERS = ("sheet", "records")


def may_be_drafted(content: bytes, file: str, known: Iterable[FamilyFile]) -> bool:
    """Whether a file is no export of any known family, and may be one of a family to come."""
    families = list(known)
    with suppress(VaultError):
        recognise(content, file, known=families)
        return False
    if other_families(content, families):
        return False
    if is_packed(content):
        with suppress(VaultError):
            inside = members(content, file=file)
            return any(may_be_drafted(one.content, one.name, families) for one in inside)
        return False
    kind = file_kind(content, file)
    names = format_names() if kind is None else _CONTAINERS
    forms = (format_named(name) for name in names)
    return (kind is None or not kind.describes) and any(
        isinstance(form, RecognisesFamilies) and form.recognises(content, file) for form in forms
    )


def proposed_name(text: str, taken: Collection[str]) -> str:
    """A name for a family, from what its drives or the file of an export are called."""
    plain = normalize("NFKD", text.casefold()).encode("ascii", "ignore").decode()
    words = [word for word in _NO_NAME.split(plain) if word]
    base = "-".join(words)[:_LONGEST].strip("-")
    base = base or "family"
    numbered = (f"{base}-{number}" for number in range(2, len(taken) + 3))
    return next(name for name in (base, *numbered) if name not in taken)
