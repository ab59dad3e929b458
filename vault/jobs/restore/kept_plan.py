"""A plan as it was made, under its number: its files, what was ticked on its sheet, its check."""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass
from functools import lru_cache
from io import BytesIO
from typing import TYPE_CHECKING

from vault.jobs.restore.check import Checked, checked_before
from vault.jobs.restore.plan_folder import KEPT, LOAD, PLAN, SHEET
from vault.jobs.restore.target import planned, planned_target
from vault.model.cached_property import cached_property
from vault.model.errors import Damaged, VaultError, WrongUsage
from vault.model.names import safe_file_name
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.git.history import commits_changing

if TYPE_CHECKING:
    from vault.jobs.restore.plan_documents import PlanDocument
    from vault.model.names import Address
    from vault.model.restore import RestoreRecord
    from vault.store.vault import Vault


@lru_cache(maxsize=32)  # a page asks for it several times
def _of_json(content: bytes) -> PlanDocument:
    """plan.json, whose keys are of the kinds that we write. Raises ValueError, RecursionError."""
    from pydantic import TypeAdapter

    from vault.jobs.restore.plan_documents import PlanDocument

    return TypeAdapter(PlanDocument).validate_python(json.loads(content))


@dataclass(frozen=True)
class KeptPlan:
    """A plan of an axis, as it stands in `commit`; `newer` is the plan that took its place."""

    vault: Vault
    address: Address
    record: RestoreRecord
    commit: str
    newer: RestoreRecord | None = None

    @property
    def is_kept(self) -> bool:
        """Whether its files were kept; of plans by older programs they were not."""
        return self.record.document_sha256 is not None

    @property
    def is_open(self) -> bool:
        """Whether it holds and nobody signed it off."""
        return self.newer is None and self.record.signed_off is None

    @cached_property
    def document(self) -> PlanDocument | None:
        """plan.json, None where it was not kept. Raises Damaged where it is not as it was made."""
        if not self.is_kept:
            return None
        content = self._content(PLAN, self.record.document_sha256)
        try:
            return _of_json(content)
        except (ValueError, RecursionError) as error:
            raise Damaged(
                "this plan is not as we write one", file=PLAN, hint="make the plan anew"
            ) from error

    def file(self, name: str) -> bytes:
        """One of its files, as it was made: plan.json, sheet.html, or the load file by its name.

        Raises WrongUsage where there is none, Damaged where it is not as it was made.
        """
        document, record = self.document, self.record
        if document is None:
            hint = "it was made by an older program: make it anew"
            raise WrongUsage(f"the files of plan {record.number} were not kept", hint=hint)
        if name == PLAN:
            return self._content(PLAN, record.document_sha256)
        if name == SHEET:
            made = {file["name"]: file["sha256"] for file in document["files"]}
            return self._content(SHEET, made.get(SHEET))
        if name == record.load_file:
            return self._content(LOAD, record.load_file_sha256)
        raise WrongUsage(f"plan {record.number} has no file {name!r}")

    def packed(self) -> tuple[str, bytes]:
        """Name and content of a zip with all its files, in a folder that has its number."""
        folder = f"restore-{self.address.machine}-{self.address.axis}-{self.record.number}"
        names = [PLAN, SHEET, *([self.record.load_file] if self.record.load_file else [])]
        files = {name: self.file(name) for name in names}
        target = planned_target(self.vault, self.address, self.record)
        if (
            target.record is not None
            and self.record.load_file_sha256 != target.record.export_sha256
        ):
            name = safe_file_name(target.record.export_name)
            files[f"{KEPT}/{name}"] = target.export_content()
        stream = BytesIO()
        with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
            for name, content in files.items():
                archive.writestr(f"{folder}/{name}", content)
        return f"{folder}.zip", stream.getvalue()

    def check(self) -> Checked | None:
        """The verdict about the newest as-left export that was held against it, if any."""
        for snapshot in self.vault.index.newest_first(self.address):
            if snapshot.record.restores == self.record.id:
                return checked_before(self.vault, self.address, snapshot)
        return None

    def _content(self, name: str, sha256: str | None) -> bytes:
        path = f"{layout.plan_folder(self.address)}/{name}"
        content = self.vault.read(path, self.commit)
        if content is None or digest(content) != sha256:
            raise Damaged(
                "this is not what was made with the plan", file=path, hint="make the plan anew"
            )
        return content


def kept_plan(vault: Vault, address: Address, number: str) -> KeptPlan:
    """The plan of an axis that has a number, or an id. Raises WrongUsage where there is none."""
    current = planned(vault, address)
    if current is not None and number in (current.number, current.id):
        return KeptPlan(vault, address, current, vault.tip)
    path = layout.restore_file(address)
    for logged in reversed(list(commits_changing(vault.repository, vault.tip, path))):
        try:
            record = planned(vault, address, logged.commit)
        except VaultError:  # verify tells it
            continue
        if record is not None and number in (record.number, record.id):
            return KeptPlan(vault, address, record, logged.commit, current)
    hint = f"the last one is {current.number}" if current is not None else "none was made yet"
    raise WrongUsage(f"{address} has no plan {number}", hint=hint)


def last_plan(vault: Vault, address: Address) -> KeptPlan | None:
    """The plan of an axis that was made last, if any."""
    record = planned(vault, address)
    return None if record is None else KeptPlan(vault, address, record, vault.tip)


def damage_of_plan(vault: Vault, address: Address) -> VaultError | None:
    """What is wrong with the files of an axis's last plan: not as they were made, or gone."""
    try:
        plan = last_plan(vault, address)
        if plan is not None and plan.is_kept:
            for name in (PLAN, SHEET, *([plan.record.load_file] if plan.record.load_file else [])):
                plan.file(name)
    except VaultError as error:
        return error
    return None
