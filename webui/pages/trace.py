"""Traces of an axis: sending one, what it tells, and how it lies beside the baseline's."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Response, request

from vault.jobs.state.selectors import view_of
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_curves import curves
from vault.jobs.trials.trace_documents import trace_document, traces_document
from vault.jobs.trials.trace_kept import (
    TraceBeside,
    beside,
    recording,
    trace_record,
    trace_records,
    trace_result,
)
from vault.meaning.traces.words import TITLES, figures, not_seen
from vault.model.errors import WrongUsage
from vault.model.wording import capitalised
from vault.model.written_form import minute_text
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.pictures import trace as picture
from webui.pictures.svg import Names
from webui.request_fields import form_field
from webui.visitors import may

if TYPE_CHECKING:
    from vault.model.accounts import Account
    from vault.model.names import Address


def traces(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The traces of an axis, newest first, and where another one is sent."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    problems: list[str] = []
    records = list(reversed(list(trace_records(vault, address, problems))))
    return Page(
        "traces.html",
        f"Traces of {address}",
        lambda: traces_document(address, records, problems),
        {
            "address": address,
            "records": records,
            "problems": problems,
            "moves": list(dict.fromkeys(record.move for record in records)),
            "is_allowed": may("technician"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def send_trace(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Keep the recording that was sent, and go on to what it tells."""
    address = vault.address(f"{machine_name}/{axis_name}")
    sent = request.files.get("trace")
    if sent is None or not sent.filename:
        raise WrongUsage("choose the recording of a move")
    found = add_trace(
        vault, address, sent.read(), sent.filename, account.person,
        form_field("move"), form_field("taken_at"),
    )  # fmt: skip
    document = trace_document(found)
    told = found.comparison.summary if found.comparison is not None else ""
    problem = f"{capitalised(found.problem)}." if found.problem is not None else ""
    words = " ".join(filter(None, ("The trace is kept.", told, problem)))
    return FormResult(document["address"], words, document, (("The axis", f"/axis/{address}"),))


def trace(vault: Vault, machine_name: str, axis_name: str, name: str) -> Page:
    """A trace with what it tells, over the earlier one of the same move."""
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    found = beside(vault, trace_result(vault, address, trace_record(vault, address, name)))
    result = found.result
    return Page(
        "trace.html",
        f"Trace of {address}, {result.record.name}",
        lambda: trace_document(found),
        {
            "address": address,
            "found": found,
            "result": result,
            "picture": _picture(found),
            "titles": TITLES,
            "figures": figures,
            "not_seen": not_seen(view_of(result.state).state),
        },
        (*axis_crumbs(machine_name, axis_name), ("Traces", f"/axis/{address}/trace")),
    )


def _picture(found: TraceBeside) -> str:
    earlier = curves(found.earlier) if found.earlier is not None else None
    names = Names(found.against or "", minute_text(found.result.record.taken_at))
    return picture.draw(curves(found.result), earlier, names, "trace")


def trace_file(vault: Vault, machine_name: str, axis_name: str, name: str) -> Page:
    """The recording as it came."""
    address: Address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    record = trace_record(vault, address, name)
    answer = Response(recording(vault, address, record), mimetype="application/octet-stream")
    answer.headers.set("Content-Disposition", "attachment", filename=record.file)
    return Page("", "", dict, raw=answer)
