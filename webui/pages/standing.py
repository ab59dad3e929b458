"""What an axis or a machine is called, whether it is in use, and what is added to its records."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.records.machines import machine_summary, require_machine, rewrite_machine
from vault.jobs.records.notes import add_note
from vault.jobs.records.rename import Renamed, rename_axis, rename_machine
from vault.jobs.records.retire import (
    Retired,
    reinstate_axis,
    reinstate_machine,
    retire_axis,
    retire_machine,
)
from vault.model.errors import Refused, WrongUsage
from vault.model.names import Address
from vault.model.typed_text import required_text
from vault.store.files import layout
from vault.store.files.edited_files import NEW_MACHINE, read_machine
from vault.store.files.snapshot_text import digest
from vault.store.files.yaml_edits import with_edits
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, query_arg, required_field
from webui.visitors import may, require_account

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from vault.model.machine import MachineRecord

_MOST_SNAPSHOTS = 200  # that an addendum may be chosen for; any other by its own page
_KEYS = ("title", "location", "note", "twin")


def standing(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """Forms to rename an axis, to retire it or put it back, and to add to a snapshot."""
    address = vault.require_axis(Address.parse(f"{machine_name}/{axis_name}"))
    snapshots = list(vault.index.snapshots(address))[::-1]
    return Page(
        "standing.html",
        f"Name, use and addenda of {address}",
        dict,
        {
            "what": "axis",
            "name": str(address),
            "own_name": address.shown[1],
            "names": vault.names.names(address),
            "retired": vault.names.retired(address),
            "snapshots": snapshots[:_MOST_SNAPSHOTS],
            "when": query_arg("when"),
            "place": f"/axis/{address}/standing",
            **_rights(),
        },
        axis_crumbs(machine_name, axis_name),
    )


def _rights() -> dict[str, bool]:
    return {"is_allowed": may("technician"), "approves": may("approver")}


def change_standing(
    vault: Vault, account: Account, machine_name: str, axis_name: str
) -> FormResult:
    """Rename an axis, retire it or put it back, or add to one of its snapshots."""
    address = vault.require_axis(Address.parse(f"{machine_name}/{axis_name}"))
    by, reason = account.person, form_field("reason")
    match required_field("do"):
        case "rename":
            require_account("approver")
            done = rename_axis(vault, address, required_field("name"), by, reason)
            return FormResult(f"/axis/{done.name}", _renamed(done))
        case "retire":
            require_account("approver")
            return FormResult(f"/axis/{address}", _used(retire_axis(vault, address, by, reason)))
        case "reinstate":
            require_account("approver")
            return FormResult(f"/axis/{address}", _used(reinstate_axis(vault, address, by, reason)))
        case "note":
            when = form_field("when")
            add_note(vault, f"{address}@{when}" if when else str(address), _text(), by)
            return FormResult(f"/axis/{address}", "It stands in the logbook; nothing else changed.")
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")


def _text() -> str:
    return required_text(form_field("text"), "text")


def _renamed(done: Renamed) -> str:
    if done.unchanged:
        return f"It is called {done.name} already."
    return f"{done.before} is called {done.name} from now on; the old name leads here."


def _used(done: Retired) -> str:
    words = "is retired: it is not overdue, and raises no alert" if done.retired else "is in use"
    return " ".join([f"{done.name} {words}.", *done.warnings])


def machine_record(vault: Vault, machine_name: str) -> Page:
    """The record of a machine, and forms to rename it, to retire it or put it back."""
    summary = machine_summary(vault, machine_name)
    record = summary.record
    machines = {axis.shown[0] for axis in vault.axes()}
    return Page(
        "machine_record.html",
        f"Record, name and use of {summary.name}",
        dict,
        {
            "what": "machine",
            "name": summary.name,
            "own_name": summary.name,
            "names": summary.names,
            "retired": summary.retired,
            "record": record,
            "tags": ", ".join(record.tags) if record is not None else "",
            "version": digest(summary.text.encode()),
            "twins": sorted(machines - {summary.name}),
            "pairs": summary.pairs,
            "place": f"/machine/{summary.name}/record",
            **_rights(),
        },
        (("Site", "/"), (machine_name, f"/machine/{machine_name}")),
    )


def change_machine(vault: Vault, account: Account, machine_name: str) -> FormResult:
    """Store the record of a machine, rename it, or retire it or put it back."""
    by, reason = account.person, form_field("reason")
    place = f"/machine/{machine_name}"
    match required_field("do"):
        case "record":
            return FormResult(place, _store_record(vault, machine_name, by))
        case "rename":
            require_account("approver")
            done = rename_machine(vault, machine_name, required_field("name"), by, reason)
            return FormResult(f"/machine/{done.name}", _renamed(done))
        case "retire":
            require_account("approver")
            return FormResult(place, _used(retire_machine(vault, machine_name, by, reason)))
        case "reinstate":
            require_account("approver")
            return FormResult(place, _used(reinstate_machine(vault, machine_name, by, reason)))
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")


def _store_record(vault: Vault, name: str, by: str) -> str:
    """Store what was typed; comments and keys that are not in the form stay as they are."""
    file, version = layout.machine_file(require_machine(vault, name)), form_field("version")

    def rewrite(stored: bytes | None) -> bytes:
        if version != digest(stored or b""):
            raise Refused(
                "somebody changed the record of this machine meanwhile",
                hint="look at what it says by now, then store again",
            )
        content = stored or NEW_MACHINE
        return with_edits(content, _typed_edits(read_machine(content, file)), file)

    added = rewrite_machine(vault, name, rewrite, file, by)
    if added.unchanged:
        return "Nothing was changed."
    return " ".join(["The record of the machine is stored.", *added.remarks])


def _typed_edits(record: MachineRecord) -> dict[str, object]:
    """What was typed other than it is recorded."""
    edits: dict[str, object] = {}
    for key in _KEYS:
        typed, was = " ".join((form_field(key) or "").split()), getattr(record, key) or ""
        if typed != " ".join(was.split()):
            edits[key] = typed or None
    tags = [tag for part in (form_field("tags") or "").split(",") if (tag := part.strip())]
    if tags != list(record.tags):
        edits["tags"] = tags or None
    return edits
