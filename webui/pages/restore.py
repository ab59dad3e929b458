"""Planning a restore: what is fitted, which corrections are made for it, the plan itself."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from flask import Response, request

from vault.jobs.restore.kept_plan import last_plan
from vault.jobs.restore.open_plans import open_plans
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_documents import plan_document
from vault.jobs.restore.plan_folder import SHEET, record_plan
from vault.jobs.restore.request import parse_plan_request
from vault.jobs.restore.sheet import sheet_html
from vault.jobs.restore.sheet_documents import proposed_documents
from vault.model.errors import VaultError
from vault.model.typed_text import text_or_none
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, selector
from webui.visitors import may

if TYPE_CHECKING:
    from werkzeug.datastructures import MultiDict

    from vault.model.accounts import Account
    from vault.model.restore import RestoreRecord

_SHEET_POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; form-action 'none';"
    " base-uri 'none'"
)
_TEXTS = (
    "drive", "firmware", "motor", "rated_current", "rated_torque", "encoder_bits", "onto",
)  # fmt: skip
_FIELDS = (*_TEXTS, "when", "adapt", "even_so", "boxes")
_BOXES = ("offered", "correct")
_DECIDE = "Corrections are proposed for what is fitted. Decide on each, then make the plan."


@dataclass(frozen=True, slots=True)
class _Typed:
    """What was typed about a plan, and which corrections were offered with a box, and ticked."""

    fields: dict[str, str | None]
    offered: frozenset[str] = frozenset()
    correct: frozenset[str] = frozenset()

    @classmethod
    def of(cls, typed: MultiDict[str, str]) -> _Typed:
        fields = {name: text_or_none(typed.get(name)) for name in _FIELDS}
        fields["even_so"] = fields["even_so"] or text_or_none(typed.get("override_reason"))
        return cls(fields, *(frozenset(typed.getlist(name)) for name in _BOXES))

    @property
    def query(self) -> str:
        """The same as part of an address."""
        texts = {name: text for name, text in self.fields.items() if text}
        boxes = {name: sorted(getattr(self, name)) for name in _BOXES}
        return urlencode({**texts, **boxes}, doseq=True)

    def plan(self, vault: Vault, name: str) -> RestorePlan:
        """The plan that was asked for. Raises WrongUsage."""
        plan = self._plan(vault, name, bool(self.fields["adapt"]), frozenset())
        if plan.left and self.fields["boxes"] and (made := self._ticked(plan)):
            plan = self._plan(vault, name, True, plan.left - made)
        return plan

    def _plan(self, vault: Vault, name: str, adapt: bool, leave: frozenset[str]) -> RestorePlan:
        fields = self.fields
        wanted = selector(f"{name}@{fields['when']}" if fields["when"] else name)
        texts = {key: fields[key] for key in _TEXTS}
        reason = fields["even_so"]
        return make_plan(
            vault,
            parse_plan_request(wanted, adapt=adapt, leave=leave, override_reason=reason, **texts),
        )

    def _ticked(self, plan: RestorePlan) -> frozenset[str]:
        """Proposed corrections whose box is ticked. One that was not offered yet is, unless it
        takes a limit instead of the value: that changes what the axis does."""
        fresh = {
            row.target.code
            for row in plan.proposed
            if row.target.code not in self.offered and row.status != "out_of_range"
        }
        return plan.left & (self.correct | fresh)

    def not_offered(self, plan: RestorePlan) -> bool:
        """Whether somebody who sent the form has not seen all corrections that are proposed."""
        proposed = {row.target.code for row in plan.proposed}
        return bool(self.fields["boxes"]) and not proposed <= self.offered


def restore(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """What is fitted, which corrections are made for it, and what comes then."""
    name = f"{machine_name}/{axis_name}"
    typed = _Typed.of(request.values)
    try:
        plan = typed.plan(vault, name)
    except VaultError:
        if request.method != "POST":
            raise
        # Refused, and told above the form, which keeps what was typed.
        plan = _Typed({**dict.fromkeys(_FIELDS), "when": typed.fields["when"]}).plan(vault, name)
    return Page(
        "restore.html",
        f"Restore {name}",
        lambda: plan_document(plan),
        {
            "plan": plan,
            "proposed": proposed_documents(plan),
            "address": name,
            "fields": typed.fields,
            "open_plans": open_plans(vault, plan.address),
            "families": vault.family_names(),
            "query": typed.query,
            "is_allowed": may("technician"),
        },
        axis_crumbs(machine_name, axis_name),
    )


def write_restore(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Record the plan, and go on with it. Or only work out what it would hold: one form asks for
    both, so what is typed counts for both.
    """
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    typed = _Typed.of(request.form)
    plan = typed.plan(vault, str(address))
    if form_field("do") == "look":
        worked_out = "Worked out; nothing is recorded."
        return FormResult(f"/restore/{address}?{typed.query}", worked_out, plan_document(plan))
    if typed.not_offered(plan):
        return FormResult(f"/restore/{address}?{typed.query}", _DECIDE, plan_document(plan))
    document = record_plan(plan, account.person)
    words = f"Plan {plan.number} is made and recorded."
    return FormResult(f"/restore/{address}/plan/{plan.number}", words, document)


def sheet(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The sheet, to be printed or carried on a phone: of the plan that is kept; where there is
    none, or something else is asked for, of what is worked out, which says that it is no plan.
    """
    address = vault.require_whole_axis(vault.address(f"{machine_name}/{axis_name}"))
    typed = _Typed.of(request.args)
    kept = None if typed.query else last_plan(vault, address)
    if kept is not None and kept.is_kept:
        return Page("", "", dict, raw=sheet_answer(kept.file(SHEET)))
    record = kept.record if kept is not None else None
    plan = _as_recorded(typed.plan(vault, str(address)), record)
    is_made = record is not None and plan.id == record.id
    raw = sheet_answer(sheet_html(plan, is_made=is_made))
    return Page("", "", lambda: plan_document(plan), raw=raw)


def _as_recorded(plan: RestorePlan, record: RestoreRecord | None) -> RestorePlan:
    """The plan of an older program, which kept no files, where this is the same again."""
    if record is None:
        return plan
    reason = plan.override_reason or record.override_reason
    same = replace(plan, made_at=record.made_at, override_reason=reason)
    return same if same.id == record.id else plan


def sheet_answer(content: bytes) -> Response:
    """The sheet as a page of its own."""
    answer = Response(content, mimetype="text/html")
    answer.headers["Content-Security-Policy"] = _SHEET_POLICY
    return answer
