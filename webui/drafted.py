"""Uploads that a dictionary is drafted from: what is made of them by what a person said so far."""

from __future__ import annotations

import json
import re
from collections.abc import Collection
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.formats.describe.registry import describe
from vault.jobs.drafting.draft import Draft, ExportFile, draft, unread_table
from vault.jobs.drafting.draft_text import draft_text
from vault.jobs.drafting.own_patterns import KnownBy, known_by, with_patterns
from vault.jobs.drafting.unknown import proposed_name
from vault.jobs.export.content import read_content
from vault.jobs.families.confirm_roles import who_and_when
from vault.jobs.families.role_edits import with_roles
from vault.jobs.records.edit import checked_family, list_families
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.families import NAME_PATTERN
from vault.model.internal_errors import told_apart
from vault.store.files.snapshot_text import digest
from webui.kept_drafts import KeptDrafts, MadeDraft
from webui.uploads import Drafting, Upload, Uploads

if TYPE_CHECKING:
    from vault.jobs.drafting.raw_table import RawTable
    from vault.store.vault import Vault


MOST_EXPORTS = 20
_KEPT = KeptDrafts()
_DATED = re.compile(r"[\d_.: -]+$")


@dataclass(frozen=True, slots=True)
class Drafted:
    """A draft as it is now: its text, and what speaks against storing it.

    `known` says of each export by what it is known. Without `draft` nothing could be made of the
    exports; `unread` is a table of the first then, for a person to say what its columns are.
    """

    draft: Draft | None = None
    content: bytes = b""
    problem: VaultError | None = None
    unread: RawTable | None = None
    known: tuple[KnownBy, ...] = ()


def begin_drafting(vault: Vault, uploads: Uploads, upload: Upload, name: str | None = None) -> None:
    """Draft from the files of an upload that are for that; those of another kind are left out.

    Raises what `draft` does for the first of them.
    """
    taken = vault.family_names()
    if name is not None:
        _check_name(name, taken)
    said = drafting_of(upload)
    try:
        drafted = _draft(vault, uploads, upload).draft
    except Unreadable:
        if _unread(uploads, upload) is None:
            raise
        file = upload.drafted_from[0].name
        said.name = name or _proposed(None, file, taken)
        uploads.note(upload)
        return
    for sent, read in zip(upload.drafted_from, drafted.reads, strict=True):
        sent.use = "draft" if read.entries else ""
    first = drafted.reads[0]
    said.name = name or _proposed(first.nameplate.get("drive"), first.file, taken)
    uploads.note(upload)


def _proposed(drive: str | None, file: str, taken: Collection[str]) -> str:
    return proposed_name(drive or _DATED.sub("", file.rpartition(".")[0]), taken)


def _check_name(name: str, taken: Collection[str]) -> None:
    if not re.fullmatch(NAME_PATTERN, name):
        raise WrongUsage(
            f"{name[:80]!r} is no name for a family",
            hint="small letters, digits, dot, dash and underscore, at most 64",
        )
    if name in taken:
        raise WrongUsage(f"the vault has a family {name} already", hint="give another name")


def _draft(vault: Vault, uploads: Uploads, upload: Upload) -> MadeDraft:
    """The draft of an upload by what was answered, made anew only where any of it changed."""
    said = upload.drafting or Drafting("family")
    exports = [(read_content(uploads.path(upload, sent)), sent) for sent in upload.drafted_from]
    others = [(read_content(uploads.path(upload, sent)), sent) for sent in upload.descriptions]

    def make() -> MadeDraft:
        files = [ExportFile(content, sent.name) for content, sent in exports]
        families = list_families(vault, lambda _: None)
        made = draft(
            files,
            said.name,
            title=said.title,
            descriptions=[describe(content, sent.name) for content, sent in others],
            answers=said.answers,
            others=families,
        )
        if said.recognise is not None:
            made = with_patterns(made, said.recognise)
        return MadeDraft(made, known_by(made, files, families))

    sent_files = [(digest(content), sent.name, sent.use) for content, sent in [*exports, *others]]
    known = [(name, digest(vault.family_file(name).content)) for name in vault.family_names()]
    made_of = [sent_files, said.name, said.title, said.answers, said.recognise, known]
    return _KEPT.of(digest(json.dumps(made_of, sort_keys=True).encode()), make)


def read_draft(vault: Vault, uploads: Uploads, upload: Upload, by: str) -> Drafted:
    """The draft of an upload, with the roles that were said; what is wrong is told with it."""
    problems: list[VaultError] = []
    content = b""
    with told_apart(problems.append, "draft"):
        made = _draft(vault, uploads, upload)
        found = made.draft
        with told_apart(problems.append, "draft"):
            content = draft_text(found)
            if roles := _said(upload, found):
                content = with_roles(content, file_of(upload), roles, who_and_when(by))
            _check_name(found.name, vault.family_names())
            checked_family(content, file_of(upload))
            return Drafted(found, content, known=made.known)
        return Drafted(found, content, problems[0], known=made.known)
    return Drafted(problem=problems[0], unread=_unread(uploads, upload))


def _unread(uploads: Uploads, upload: Upload) -> RawTable | None:
    first = upload.drafted_from[0]
    with told_apart(lambda _: None, first.name):
        content = read_content(uploads.path(upload, first))
        return unread_table(ExportFile(content, first.name), drafting_of(upload).answers)
    return None


def _said(upload: Upload, found: Draft) -> dict[str, str | None]:
    """Roles that were said of parameters that there are."""
    said = upload.drafting.roles if upload.drafting else {}
    codes = {parameter.code for parameter in found.parameters}
    return {code: role or None for code, role in said.items() if code in codes}


def file_of(upload: Upload) -> str:
    """The name of the dictionary as a file."""
    return f"{upload.drafting.name if upload.drafting else 'family'}.yaml"


def drafting_of(upload: Upload) -> Drafting:
    """What was said of the dictionary. Raises WrongUsage where none is drafted from this."""
    if upload.drafting is None:
        raise WrongUsage(
            "no dictionary is drafted from this", hint="it was stored; see Families, or Take in"
        )
    return upload.drafting
