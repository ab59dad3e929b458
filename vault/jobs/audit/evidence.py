"""The evidence of an audit in a folder that anybody can check with git and sha256sum alone."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

from vault.jobs.accounts.accounts import text_of_log
from vault.jobs.audit.audit import SnapshotEntry
from vault.jobs.audit.documents import audit_document
from vault.jobs.audit.report_entries import report_entries
from vault.jobs.paper.render import render
from vault.jobs.trials.kept import trial_names
from vault.jobs.trials.trace_kept import trace_names
from vault.model.names import safe_file_name
from vault.model.visible_text import visible_json
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.moment_names import moment_of_name
from vault.store.files.new_folder import new_folder, write_whole
from vault.store.files.snapshot_text import digest
from vault.store.git.exchange import bundle_into

if TYPE_CHECKING:
    from vault.jobs.audit.audit import Audit
    from vault.jobs.audit.documents import AuditDocument
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

SUMS, HOW_TO, BUNDLE = "SHA256SUMS", "HOW-TO-CHECK.txt", "history.bundle"
_BRANCH = "main"


@dataclass(frozen=True, slots=True)
class _Exhibit:
    """A snapshot of the package: what lies in the folder, by its path in git.

    `family` is the dictionary that it was read with, `family_path` where that lies in the folder,
    for several snapshots perhaps; both None where the export describes itself.
    """

    axis: Address
    snapshot: Snapshot
    files: dict[str, str]
    family: str | None = None
    family_path: str | None = None


def write_evidence(vault: Vault, answer: Audit, out: Path) -> AuditDocument:
    """Write the package into a new folder; returns report.json.

    Raises WrongUsage where the folder holds something, Unavailable where it cannot be written.
    """
    document = audit_document(answer)
    exhibits, dictionaries = _with_dictionaries(
        vault, [_exhibit(axis, snapshot) for axis, snapshot in _concerned(answer)]
    )
    corrections = _corrections(vault, answer)
    records = _records(answer)
    with new_folder(out) as scratch:
        for exhibit in exhibits:
            for place, path in exhibit.files.items():
                write_whole(scratch / path, vault.read_required(place, exhibit.snapshot.id))
        for path in corrections:
            write_whole(scratch / path, vault.read_required(path, vault.tip))
        for path, (commit, place) in records.items():
            write_whole(scratch / path, vault.read_required(place, commit))
        for path, content in dictionaries.items():
            write_whole(scratch / path, content)
        bundle_into(scratch / BUNDLE, vault.repository, vault.tip)
        text = visible_json(json.dumps(document, ensure_ascii=False, indent=1)) + "\n"
        write_whole(scratch / "report.json", text.encode())
        if log := text_of_log(vault.state):
            write_whole(scratch / "accounts.jsonl", log.encode())
        write_whole(scratch / "report.html", report_html(vault, answer))
        how_to = _how_to(vault, answer, exhibits, corrections, records)
        write_whole(scratch / HOW_TO, how_to.encode())
        write_whole(scratch / SUMS, _sums(scratch).encode())
    return document


def _concerned(answer: Audit) -> Iterator[tuple[Address, Snapshot]]:
    """Snapshots of the period, what the fault is held against, and what suspects showed in."""
    seen: set[str] = set()
    pairs = [(e.axis, e.snapshot) for e in answer.entries if isinstance(e, SnapshotEntry)]
    pairs += [
        (axis, reference.state.snapshot)
        for axis, reference in answer.references.items()
        if reference is not None
        and reference.state.snapshot is not None
        and reference.state.address == axis
    ]
    pairs += [
        (suspect.axis, suspect.since) for suspect in answer.suspects if suspect.since is not None
    ]
    recorded = [(axis, one.as_recorded.record.taken_at, one) for axis, one in pairs]
    for axis, _, snapshot in sorted(recorded, key=lambda row: row[:2]):
        if snapshot.id not in seen:
            seen.add(snapshot.id)
            yield axis, snapshot


def _exhibit(axis: Address, snapshot: Snapshot) -> _Exhibit:
    record = snapshot.record
    place = str(axis).replace(":", "/")  # which no file of some systems may be called
    folder = f"snapshots/{place}/{record.taken_at:%Y-%m-%d}-{snapshot.id[:10]}"
    export = layout.export_file(axis, record.export_name)
    return _Exhibit(
        axis,
        snapshot,
        {
            export: f"{folder}/export/{safe_file_name(record.export_name)}",
            layout.parameters_file(axis): f"{folder}/parameters.yaml",
            layout.snapshot_file(axis): f"{folder}/snapshot.yaml",
        },
        record.family,
    )


def _with_dictionaries(
    vault: Vault, exhibits: list[_Exhibit]
) -> tuple[list[_Exhibit], dict[str, bytes]]:
    """Exhibits that know their dictionary's path, and each text of one by its path.

    A dictionary is that of the snapshot's commit: the tip may have a newer one. Where a family has
    several texts here, their paths carry the beginning of their SHA-256.
    """
    texts = {
        e.snapshot.id: (e.family, vault.read_required(layout.family_file(e.family), e.snapshot.id))
        for e in exhibits
        if e.family is not None
    }
    count = Counter(family for family, _ in set(texts.values()))
    paths = {
        (family, text): layout.family_file(
            family if count[family] == 1 else f"{family}-{digest(text)[:10]}"
        )
        for family, text in set(texts.values())
    }
    found = [
        replace(e, family_path=paths[texts[e.snapshot.id]]) if e.snapshot.id in texts else e
        for e in exhibits
    ]
    return found, {path: text for (_, text), path in paths.items()}


def _sums(folder: Path) -> str:
    """SHA-256 of every file, as sha256sum writes and checks it."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return "".join(
        f"{digest(path.read_bytes())}  {path.relative_to(folder).as_posix()}\n" for path in files
    )


def _corrections(vault: Vault, answer: Audit) -> list[str]:
    """What people added afterwards about the axes, by its path in git and in the package.

    Of trials and traces those that were done by the end of the period, with their recordings.
    """
    corrections = dict.fromkeys(map(layout.corrections_file, answer.axes))  # both sides have one
    paths = [path for path in corrections if vault.read(path) is not None]
    for axis in dict.fromkeys(axis.drive for axis in answer.axes):
        folders = [(name, layout.trial_folder(axis, name)) for name in trial_names(vault, axis)]
        folders += [(name, layout.trace_folder(axis, name)) for name in trace_names(vault, axis)]
        for name, folder in folders:
            if moment_of_name(name) <= answer.end:
                entries = vault.repository.list(vault.tip, folder, recursive=True)
                paths += (entry.path for entry in entries)
    return paths


def _records(answer: Audit) -> dict[str, tuple[str, str]]:
    """The axis record before and after each edit that is a suspect: commit and path in git, by its
    path in the package."""
    found: dict[str, tuple[str, str]] = {}
    for suspect in answer.suspects:
        if suspect.edit is not None:
            commit, place = suspect.edit.commit, layout.axis_file(suspect.axis)
            folder = f"records/{suspect.axis}/{suspect.edit.at:%Y-%m-%d}-{commit[:10]}"
            found[f"{folder}/before.yaml"] = (f"{commit}^", place)
            found[f"{folder}/after.yaml"] = (commit, place)
    return found


def _how_to(
    vault: Vault,
    answer: Audit,
    exhibits: list[_Exhibit],
    corrections: list[str],
    records: dict[str, tuple[str, str]],
) -> str:
    """Commands that need nothing of ours; each ends with status 0 where all is well."""
    lines = [
        f"How to check this evidence about {answer.place}, without axisvault.",
        "",
        "You need git and the usual sha256sum, cmp, grep and cut. Open a shell in this folder and",
        "run the lines that begin with $ (without the $). Each must end without a complaint.",
        "",
        "1. Every file is as it was written:",
        "",
        f"$ sha256sum --check --strict --quiet {SUMS}",
        "",
        "2. The history (of the whole vault) is whole, and ends where the report says:",
        "",
        f"$ git clone --quiet --bare {BUNDLE} check.git",
        "$ git -C check.git fsck --strict --no-dangling --no-progress",
        f'$ test "$(git -C check.git rev-parse {_BRANCH})" = {vault.tip}',
        "",
        "3. Exports, values, records and dictionaries are those of the history. Each export, and",
        "   the dictionary it was read with, is the one that its record names by SHA-256:",
        "",
    ]
    for exhibit in exhibits:
        for place, path in exhibit.files.items():
            source = quote(f"{exhibit.snapshot.id}:{place}")
            lines.append(f"$ git -C check.git show {source} | cmp - {quote(path)}")
        export, _, record = exhibit.files.values()
        lines.append(f'$ grep -q "sha256:.*{_sum_of(export)}" {quote(record)}')
        if exhibit.family is not None and exhibit.family_path is not None:
            source = quote(f"{exhibit.snapshot.id}:{layout.family_file(exhibit.family)}")
            path = quote(exhibit.family_path)
            lines.append(f"$ git -C check.git show {source} | cmp - {path}")
            lines.append(f'$ grep -q "sha256:.*{_sum_of(exhibit.family_path)}" {quote(record)}')
    for path in corrections:
        source = quote(f"{vault.tip}:{path}")
        lines.append(f"$ git -C check.git show {source} | cmp - {quote(path)}")
        if layout.trace_of(path) is not None and not path.endswith("/trace.yaml"):
            record = quote(f"{path.rpartition('/')[0]}/trace.yaml")
            lines.append(f'$ grep -q "sha256:.*{_sum_of(path)}" {record}')
    for path, (commit, place) in records.items():
        source = quote(f"{commit}:{place}")
        lines.append(f"$ git -C check.git show {source} | cmp - {quote(path)}")
    lines += [
        "",
        "4. Each record names the SHA-256 of the record before it, so that none can be taken out",
        "   or changed unseen:",
        "",
        *_chain(exhibits),
        "",
        "5. Compare the end of the history with what was written down elsewhere (a copy of the",
        "   witness, a print-out): a history that was rewritten as a whole shows only there.",
        "",
        f"   {vault.tip}",
    ]
    return "\n".join(lines) + "\n"


def _chain(exhibits: list[_Exhibit]) -> Iterator[str]:
    for before, after in pairwise(exhibits):
        linked = digest(before.snapshot.text) == after.snapshot.record.previous
        if before.axis != after.axis or not linked:
            continue  # another axis begins, or snapshots between were not of the period
        earlier, later = (list(e.files.values())[2] for e in (before, after))
        yield f'$ grep -q "previous:.*{_sum_of(earlier)}" {quote(later)}'


def _sum_of(path: str) -> str:
    """Its SHA-256, as a shell works it out."""
    return f"$(sha256sum < {quote(path)} | cut -d ' ' -f 1)"


def report_html(vault: Vault, answer: Audit) -> bytes:
    """The report: self-contained, printable."""
    return render(
        "audit/report.html.jinja",
        site=vault.site,
        tip=vault.tip,
        made_at=now(),
        audit=answer,
        reference=answer.references.get(answer.fault.axis)
        if answer.fault is not None and answer.fault.axis is not None
        else None,
        entries=report_entries(answer),
    )
