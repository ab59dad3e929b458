"""An axis: its logbook newest first, one of its states, and whether that is plausible."""

from __future__ import annotations

from typing import Any

from flask import request

from vault.jobs.baseline.drift import drift_of
from vault.jobs.baseline.golden import show as golden_show
from vault.jobs.inspect.documents import parameter_set_document
from vault.jobs.inspect.show import in_groups, shown_parameters
from vault.jobs.inspect.spread import has_twin
from vault.jobs.logbook.book import logbook
from vault.jobs.logbook.documents import history_document
from vault.jobs.logbook.entries import KIND_WORDS
from vault.jobs.records.edit import AxisSummary, axis_summary
from vault.jobs.restore.fitted_drift import fitted_drift_of
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.state.check_documents import check_document
from vault.jobs.state.cross_checks import check_both
from vault.jobs.state.reread import reread_by_today, versions_of
from vault.jobs.state.selectors import resolve
from vault.jobs.state.sides import controller_state
from vault.jobs.trials.required import trial_objection
from vault.meaning.sentences import in_words, nothing_implausible
from vault.model.axis import AxisRecord
from vault.model.names import Address
from vault.store.vault import Vault
from webui.next_steps import next_step
from webui.page import Page, axis_crumbs
from webui.request_fields import count_arg, query_arg, selector


def axis(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The logbook of an axis, its golden state, its cabinet."""
    address = vault.require_axis(vault.address(f"{machine_name}/{axis_name}"))
    kinds = request.args.getlist("kind")
    book = logbook(vault, address, kinds, count_arg("skip"))
    summary, golden = axis_summary(vault, address), golden_show(vault, address)
    approved = golden.approval is not None or golden.follows is not None
    untried = None if approved or address.is_controller else _untried(vault, summary)
    return Page(
        "axis.html",
        str(address),
        lambda: history_document(vault, book),
        {
            "address": address,
            "book": book,
            "summary": summary,
            "shared_names": vault.names.shared(address),
            "as_built": () if address.is_controller else _as_built(summary.record),
            "kinds": kinds,
            "asked_kinds": "".join(f"kind={kind}&" for kind in kinds),
            "kind_words": KIND_WORDS,
            "stands": fitted_drift_of(vault, address) if summary.latest else None,
            "golden": golden,
            "next_step": next_step(summary, is_approved=approved, untried=untried),
            "has_twin": has_twin(vault, address),
            "open_plans": () if address.is_controller else open_plans(vault, address),
            "controller": None if address.is_controller else _controller(vault, address),
        },
        axis_crumbs(machine_name, axis_name)[:-1],
    )


def _controller(vault: Vault, address: Address) -> dict[str, Any] | None:
    """How the controller's side of an axis stands; None where no set of it was taken in."""
    state = controller_state(vault, address)
    if state is None or state.address is None:
        return None
    side = state.address
    return {
        "address": side,
        "state": state,
        "stands": drift_of(vault, side),
        "golden": golden_show(vault, side),
        "snapshots": vault.index.count(side),
    }


def _untried(vault: Vault, summary: AxisSummary) -> str | None:
    """Why the latest state is not proven by a trial, where the site wants one."""
    if summary.latest is None:
        return None
    state = resolve(vault, str(summary.address))
    objection = trial_objection(vault, state)
    return None if objection is None else objection.message


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
        axis_crumbs(machine_name, axis_name),
    )


def checked(vault: Vault, machine_name: str, axis_name: str, when: str) -> Page:
    """What is not plausible about a state."""
    name = f"{machine_name}/{axis_name}"
    state = resolve(vault, selector(f"{name}@{when}"))
    found = check_both(state)
    return Page(
        "check.html",
        f"Is {name} plausible?",
        lambda: check_document(found),
        {
            "state": state,
            "beside": found.told_beside,
            "complaints": [(one, found.looked_at(one)) for one in found.complaints],
            "nothing_found": nothing_implausible(state.parameters.values()),
            "address": name,
            "when": when,
        },
        axis_crumbs(machine_name, axis_name),
    )
