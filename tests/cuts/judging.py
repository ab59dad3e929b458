"""What becomes of a piece of a file, alone and where the axis has the whole file already."""

from __future__ import annotations

import re
import shutil
from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Literal, get_args

from tests.cuts.subjects import NODE_ID, Subject
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.intake.guard import Verdict, guard
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.model.errors import VaultError
from vault.model.export import Scalar, SkippedLine
from vault.store.files import layout
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

Outcome = Literal["refused", "told", "as the whole", "nothing lost", "nothing tells", "silent"]
OUTCOMES: tuple[Outcome, ...] = get_args(Outcome)
BY = "Mira Okafor <mira@tileworks.example>"


class Judge:
    """Holds pieces of one file against the whole, as the stages of taking in see them.

    What is said of the whole file too is counted apart from what a cut adds.
    """

    def __init__(self, subject: Subject, alone: Vault, after: Vault) -> None:
        self._subject = subject
        self._vaults = {"alone": alone, "after the whole": after}
        self._texts: dict[str, bytes] = {}
        self._whole = self._read(subject.content)
        self._usual = {name: self._verdict(name, self._whole) for name in self._vaults}

    def judged(self, at: int) -> dict[str, Outcome]:
        """What becomes of the first bytes of the file, by what the axis had before."""
        try:
            piece = self._read(self._subject.content[:at])
        except VaultError:
            return dict.fromkeys(self._vaults, "refused")
        if _more(_reasons(piece.skipped), _reasons(self._whole.skipped)):
            return dict.fromkeys(self._vaults, "refused")
        return {name: self._of_guards(name, piece, at) for name in self._vaults}

    def _of_guards(self, name: str, piece: Export, at: int) -> Outcome:
        verdict, usual = self._verdict(name, piece), self._usual[name]
        if _more(Counter(o.reason for o in verdict.objections), Counter(
            o.reason for o in usual.objections
        )):  # fmt: skip
            return "refused"
        doubts = _more(_reasons(piece.listing.remarks), _reasons(self._whole.listing.remarks))
        defaults = set(piece.coverage.defaults) - set(self._whole.coverage.defaults)
        if doubts or defaults or set(verdict.remarks) - set(usual.remarks):
            return "told"
        if self._is_same(piece):
            return "nothing lost"
        if piece.coverage.may_lack or verdict.objections:
            return "as the whole"
        return "nothing tells" if name == "alone" and self._ends_with_a_row(at) else "silent"

    def _is_same(self, piece: Export) -> bool:
        """Whether every value is there; names may have lost their objects."""
        return _values(piece) == _values(self._whole)

    def _ends_with_a_row(self, at: int) -> bool:
        """Whether a table ends with a whole row, so that none of the plant's could tell."""
        ends = (b"\n", b"\n\0", b"\r", b"\r\0")
        return self._subject.is_table and self._subject.content[:at].endswith(ends)

    def _read(self, content: bytes) -> Export:
        one = self._subject
        return read_export(
            content, one.name, one.family, channel=one.channel, partial=True, node_id=NODE_ID
        )

    def _verdict(self, name: str, export: Export) -> Verdict:
        vault = self._vaults[name]
        return guard(vault, self._subject.address, export, lambda s: self._parameters(vault, s))

    def _parameters(self, vault: Vault, snapshot: Snapshot) -> bytes:
        if snapshot.id not in self._texts:
            place = layout.parameters_file(snapshot.address)
            self._texts[snapshot.id] = vault.read_required(place, snapshot.id)
        return self._texts[snapshot.id]


def _values(export: Export) -> tuple[dict[str, Scalar], dict[str, str]]:
    raw = {parameter.code: parameter.raw for parameter in export.parameters.values()}
    return raw, dict(export.nameplate)


def _reasons(lines: Iterable[SkippedLine]) -> Counter[str]:
    """Reasons without the numbers of lines, which a cut may move."""
    return Counter(re.sub(r"line \d+", "line", line.reason) for line in lines)


def _more(found: Counter[str], usual: Counter[str]) -> bool:
    return bool(found - usual)


class Bench:
    """A folder with an empty vault, and for each file a copy that has the whole of it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        with Vault.create(folder / "empty", "Tile works (invented)", BY):
            pass

    @contextmanager
    def judge(self, subject: Subject) -> Iterator[Judge]:
        """Judge of one file."""
        after = self._folder / "after"
        shutil.rmtree(after, ignore_errors=True)
        shutil.copytree(self._folder / "empty", after)
        with Vault.open(self._folder / "empty") as alone, Vault.open(after) as vault:
            self._take_in(vault, subject)
            yield Judge(subject, alone, vault)

    def _take_in(self, vault: Vault, subject: Subject) -> None:
        if subject.family is not None:
            place = layout.family_file(subject.family.name)
            with vault.writing():
                vault.write_files({place: subject.family.content}, "family added\n", BY)
        path = self._folder / ("whole.csv" if subject.is_table else "whole.dcf")
        path.write_bytes(subject.content)
        visit = parse_visit(
            BY,
            taken_at="2026-03-01T08:00:00Z",
            family=subject.family.name if subject.family is not None else None,
            channel=None if subject.channel is None else str(subject.channel),
            partial=True,
            override_reason="the whole file that pieces are held against",
            node_id=str(NODE_ID),
        )
        ingest(vault, path, subject.address, visit)
