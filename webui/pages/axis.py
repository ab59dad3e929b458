"""An axis: its logbook newest first, one of its states, and whether that is plausible."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime

from vault.jobs.baseline.drift import drift_of
from vault.jobs.baseline.golden import show as golden_show
from vault.jobs.faults.log import named_faults
from vault.jobs.inspect.documents import parameter_set_document
from vault.jobs.inspect.history import HistoryEntry, history
from vault.jobs.inspect.history_documents import history_document
from vault.jobs.inspect.show import in_groups, shown_parameters
from vault.jobs.inspect.spread import has_twin
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.records.edit import axis_summary
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.restore.target import planned
from vault.jobs.state.check import check_state, looked_at
from vault.jobs.state.check_documents import check_document
from vault.jobs.state.reread import reread_by_today, versions_of
from vault.jobs.state.selectors import resolve
from vault.meaning.changes import Comparison
from vault.meaning.sentences import in_words, nothing_implausible, sentences
from vault.model.axis import AxisRecord
from vault.model.errors import VaultError
from vault.store.vault import Vault
from webui.next_steps import next_step
from webui.page import Page
from webui.request_fields import query_arg, selector


def axis(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The logbook of an axis, its golden state, its cabinet."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    entries = list(history(vault, address))
    edits, faults = list(axis_edits(vault, address)), named_faults(vault, address)
    book: list[tuple[datetime, str, object, list[str]]] = [
        (e.snapshot.record.taken_at, "snapshot", e, _entry_sentences(e.comparison)) for e in entries
    ]
    book += [(e.at, "edit", e, []) for e in edits if e.changes and not e.is_first]
    book += [(fault.at, "fault", (fault, code), []) for fault, code in faults]
    notes = vault.corrections(address)
    book += [(note.at, "note", note, []) for note in notes]
    book.sort(key=lambda entry: entry[0], reverse=True)
    summary, golden = axis_summary(vault, address), golden_show(vault, address)
    approved = golden.approval is not None or golden.follows is not None
    return Page(
        "axis.html",
        str(address),
        lambda: history_document(str(address), entries, edits, faults, notes),
        {
            "address": address,
            "book": book,
            "summary": summary,
            "as_built": _as_built(summary.record),
            "next_step": next_step(summary, is_approved=approved),
            "stands": drift_of(vault, address) if entries else None,
            "golden": golden,
            "has_twin": has_twin(vault, address),
            "open_plans": open_plans(vault, address),
            "plan_numbers": _plan_numbers(vault, entries),
        },
        (("Site", "/"), (machine_name, f"/machine/{machine_name}")),
    )


def _plan_numbers(vault: Vault, entries: list[HistoryEntry]) -> dict[str, str]:
    """Numbers of the plans that snapshots were held against, by the snapshot."""
    numbers = {}
    for snapshot in (e.snapshot for e in entries if e.snapshot.record.restores):
        with suppress(VaultError):  # verify tells it
            plan = planned(vault, snapshot.address, snapshot.id)
            if plan is not None and plan.id == snapshot.record.restores:
                numbers[snapshot.id] = plan.number
    return numbers


def _as_built(record: AxisRecord | None) -> list[tuple[str, list[tuple[str, str]]]]:
    """What the axis record says, section by section; what has one value alone comes first."""
    if record is None:
        return []
    said = record.model_dump(exclude=_SHOWN_ELSEWHERE, exclude_unset=True, exclude_none=True)
    alone = [(key, in_words(each)) for key, each in said.items() if not isinstance(each, dict)]
    sections = [
        (key, [(name, in_words(each)) for name, each in section.items()])
        for key, section in said.items()
        if isinstance(section, dict) and section
    ]
    return [*([("axis", alone)] if alone else []), *sections]


_SHOWN_ELSEWHERE = {"schema_", "title", "note"}


def _entry_sentences(comparison: Comparison | None) -> list[str]:
    if comparison is None:
        return ["The first snapshot of this axis."]
    return sentences(comparison, 12) or ["No setting changed."]


def moment(vault: Vault, machine_name: str, axis_name: str, when: str) -> Page:
    """One parameter set, in groups; `reread=1` reads it by today's dictionary."""
    name = f"{machine_name}/{axis_name}"
    state = resolve(vault, selector(f"{name}@{when}"))
    if query_arg("reread") is not None:
        state = reread_by_today(state)
    parameters = shown_parameters(state)
    return Page(
        "moment.html",
        f"{name} at {when}",
        lambda: parameter_set_document(state, parameters),
        {
            "state": state,
            "versions": versions_of(state),
            "groups": in_groups(parameters),
            "address": name,
            "when": when,
        },
        _crumbs(machine_name, axis_name),
    )


def checked(vault: Vault, machine_name: str, axis_name: str, when: str) -> Page:
    """What is not plausible about a state."""
    name = f"{machine_name}/{axis_name}"
    state = resolve(vault, selector(f"{name}@{when}"))
    complaints = check_state(state)
    return Page(
        "check.html",
        f"Is {name} plausible?",
        lambda: check_document(state, complaints),
        {
            "state": state,
            "complaints": [(one, looked_at(state, one)) for one in complaints],
            "nothing_found": nothing_implausible(state.parameters.values()),
            "address": name,
            "when": when,
        },
        _crumbs(machine_name, axis_name),
    )


def _crumbs(machine_name: str, axis_name: str) -> tuple[tuple[str, str], ...]:
    return (
        ("Site", "/"),
        (machine_name, f"/machine/{machine_name}"),
        (axis_name, f"/axis/{machine_name}/{axis_name}"),
    )
