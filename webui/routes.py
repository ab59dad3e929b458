"""Every address of the viewer, in the order of use: its page, what it may be asked, its form."""

from __future__ import annotations

from vault.jobs.audit.documents import AuditDocument
from vault.jobs.baseline.documents import DriftDocument, GoldenDocument
from vault.jobs.baseline.many_documents import (
    ManyApprovedDocument,
    ManyIntervalsDocument,
    ManyWaivedDocument,
)
from vault.jobs.inspect.documents import FindDocument, ParameterSetDocument, SpreadDocument
from vault.jobs.inspect.history_documents import HistoryDocument, ParameterHistoryDocument
from vault.jobs.inspect.margin_documents import (
    MarginHistoryDocument,
    MarginsDocument,
    MarginSpreadDocument,
)
from vault.jobs.inspect.search_documents import SearchDocument
from vault.jobs.intake.documents import IngestDocument
from vault.jobs.manual.documents import ManualDocument
from vault.jobs.records.documents import DictionaryDocument, FamiliesDocument
from vault.jobs.restore.documents import RestoreCheckDocument, SignedOffDocument
from vault.jobs.restore.plan_documents import PlanDocument
from vault.jobs.state.check_documents import CheckDocument
from vault.jobs.state.document_parts import EmptyDocument
from vault.jobs.state.documents import ComparisonDocument
from vault.jobs.state.machine_documents import MachineComparisonDocument
from webui.axis_filter import FIELDS
from webui.documents import (
    FaultNotedDocument,
    HealthDocument,
    KeptPlanDocument,
    RestoreStandDocument,
    TakeInDocument,
)
from webui.page import Form, Route
from webui.pages.account import change_account, let_in, log_in_page, own_account
from webui.pages.audit import audit_page, note_fault, pack_evidence
from webui.pages.axis import axis, checked, moment
from webui.pages.baselines import baselines, change_baselines
from webui.pages.difference import difference
from webui.pages.drafting import (
    change_draft,
    draft_file,
    drafted_family,
    from_export,
    send_to_draft,
)
from webui.pages.families import change_roles, families, family
from webui.pages.find import find_page, search_page
from webui.pages.golden import change_golden, golden
from webui.pages.health import health, verify_vault
from webui.pages.manual import manual, manual_topic
from webui.pages.margins import margins, margins_at, margins_over_time
from webui.pages.parameter import parameter
from webui.pages.restore import restore, sheet, write_restore
from webui.pages.restore_plan import (
    act_on_plan,
    act_on_restore,
    restore_check,
    restore_checked,
    restore_file,
    restore_folder,
    restore_plan,
)
from webui.pages.site import machine, site
from webui.pages.spread import spread_page
from webui.pages.style import script, style
from webui.pages.take_in import send, store_waiting, take_in, waiting_exports
from webui.pages.work import all_work, one_work, work_file
from webui.work_documents import WorkBegunDocument, WorkDocument, WorksDocument

_AXIS = "/axis/<machine_name>/<axis_name>"
_STATE = "A state: machine/axis@WHEN."
_RESTORE = "/restore/<machine_name>/<axis_name>"
_ORDER = {"work_order": "The work order it belongs to.", "note": "What a reader should know."}
_TAKEN = {
    "taken_at": "When it was taken: a time, now, or file for what the file proposes; else as it "
    "says itself, else now where nothing old speaks against that.",
    "node_id": "What values that refer to the node id are of.",
}
_EVEN_SO = {"even_so": "Why, although a guard objects."}
_FITTED = {
    "even_so": "Why a target that is not whole is restored all the same.",
    "override_reason": "An older name of even_so.",
    "when": "The state to restore; else the golden baseline, else the latest.",
    "drive": "Order code of the fitted drive.",
    "firmware": "Its firmware.",
    "encoder_bits": "Bits of one turn, and of turns: 24+12, 20.",
    "motor": "Order code of the fitted motor.",
    "rated_current": "Its rated current in A.",
    "rated_torque": "Its rated torque in N*m.",
    "onto": "The fitted drive is of another family.",
    "adapt": "Make all corrections for the fitted hardware.",
    "boxes": "Make those that are ticked instead: `offered` and `correct` name them.",
    "offered": "Code of a correction that was offered; may be repeated.",
    "correct": "Code of a correction that is made; may be repeated.",
}
_LEFT = {
    "moved": "A short measured move: COMMANDED=MEASURED.",
    "partial": "Leave out what cannot be read, and record that.",
    "snapshot": "To sign: the as-left snapshot that was looked at; else the last.",
    **_TAKEN,
    **_ORDER,
    **_EVEN_SO,
}
_TICKS = {
    "tick": "A box of the sheet that is ticked, SECTION.PLACE; may be repeated.",
    "shown": "A box that was seen ticked, and is unticked where `tick` has it not.",
}
_WHICH = {
    "act": "What to do to them: approve, waive, or interval.",
    "machine": "Axes of one machine.",
    "family": "Axes whose latest snapshot is of one family.",
    "stands": "Axes that are drifted, overdue, no_golden or in_line.",
    "pattern": "Axes that fit, as */lift.",
}
_MANY = {
    "accept": "A finding of the check that is known and right; may be repeated.",
    "even_so": "Why sets that are not whole are approved all the same.",
    "code": "The parameter to waive, by code or role.",
    "allow": "What it may be: a range with its unit, or any.",
    "until": "The last day of the waiver.",
    "every": "How often an export is due: 30 days.",
}
_QUESTION = {
    "place": "A machine, or machine/axis.",
    "fault": "A fault code.",
    "at": "When it tripped, about: the nearest in the fault log counts.",
    "from": "Begin of the period; a bare date means its begin.",
    "to": "Its end; a bare date means its end.",
}

ROUTES = (
    Route("/", site, "How every axis stands.", FIELDS, document=DriftDocument),
    Route(
        "/machine/<machine_name>",
        machine,
        "How the axes of a machine stand.",
        FIELDS,
        document=DriftDocument,
    ),
    Route(
        _AXIS,
        axis,
        "The snapshots of an axis, edits of its record, and its faults.",
        form=Form(
            note_fault,
            "technician",
            "Note a fault.",
            {
                "code": "As the drive shows it, or a standard one (3210h).",
                "at": "When it tripped.",
                "note": "What people saw.",
            },
            required=("code",),
            document=FaultNotedDocument,
        ),
        document=HistoryDocument,
    ),
    Route(
        f"{_AXIS}/at/<when>",
        moment,
        "One parameter set.",
        {"reread": "Read a snapshot's export by today's dictionary."},
        document=ParameterSetDocument,
    ),
    Route(
        f"{_AXIS}/at/<when>/check",
        checked,
        "What is not plausible about it.",
        document=CheckDocument,
    ),
    Route(
        f"{_AXIS}/margins",
        margins,
        "What the axis has, held against what it must cover.",
        document=MarginsDocument,
    ),
    Route(
        f"{_AXIS}/margins/over-time",
        margins_over_time,
        "Each snapshot at which one of these moved.",
        document=MarginHistoryDocument,
    ),
    Route(
        f"{_AXIS}/at/<when>/margins",
        margins_at,
        "The same of one state.",
        document=MarginsDocument,
    ),
    Route(
        f"{_AXIS}/parameter/<path:code>",
        parameter,
        "One parameter over time.",
        document=ParameterHistoryDocument,
    ),
    Route(
        "/compare",
        difference,
        "The semantic difference between two states, or two machines axis by axis.",
        {
            "left": f"{_STATE} Or a machine.",
            "right": f"{_STATE} Or a machine.",
            "pair": "Of two machines: axes that pair under two names, as lift=hoist.",
            "all": "Also what is only restated, or live.",
            "fault": "Rank by what can explain a fault.",
        },
        document=ComparisonDocument | MachineComparisonDocument | EmptyDocument,
    ),
    Route(
        "/spread",
        spread_page,
        "Many axes side by side.",
        {
            "pattern": "Fits axes, as */lift.",
            "parameter": "One parameter, by code or role.",
            "margins": "Their margins instead.",
        },
        document=SpreadDocument | MarginSpreadDocument | EmptyDocument,
    ),
    Route(
        "/find",
        find_page,
        "Which axes have, or had, a setting.",
        {
            "text": "A code, a role, or part of a name or label.",
            "value": "A condition, as > 5 mm.",
            "now": "Only what is there now.",
            "setting": "On the page: which axes have it, and not what the text may mean else.",
        },
        document=FindDocument | EmptyDocument,
    ),
    Route(
        "/search",
        search_page,
        "What a text may mean: axes, machines, parameters, faults, people, families, snapshots.",
        {"text": "Some letters of it; of a snapshot the first seven digits of its id."},
        document=SearchDocument,
    ),
    Route("/families", families, "The drive families.", document=FamiliesDocument),
    Route(
        "/families/<name>",
        family,
        "The dictionary of a drive family.",
        form=Form(change_roles, "approver"),
        document=DictionaryDocument,
    ),
    Route("/draft", from_export, form=Form(send_to_draft, "technician")),
    Route("/draft/<upload_id>", drafted_family, form=Form(change_draft, "technician")),
    Route("/draft/<upload_id>/file", draft_file),
    Route(
        f"{_AXIS}/golden",
        golden,
        "The golden baseline of an axis, and its waivers.",
        form=Form(
            change_golden,
            "approver",
            "Approve a snapshot, waive a parameter, or take either back.",
            {
                "do": "approve, waive, withdraw-waiver or withdraw.",
                "when": "What to approve: latest, or the id of a snapshot.",
                "accept": "A finding of the check that is known and right; may be repeated.",
                "code": "The parameter to waive, by code or role.",
                "allow": "What it may be: a range with its unit, or any.",
                "until": "The last day of the waiver.",
                "reason": "Why.",
            },
            required=("do",),
            document=GoldenDocument,
        ),
        document=GoldenDocument,
    ),
    Route(
        "/baselines",
        baselines,
        "What would become of many axes: who would be refused, and who approved.",
        {**_WHICH, **_MANY},
        Form(
            change_baselines,
            "approver",
            "Approve, or waive, on many axes at once, or say when their exports are due.",
            {
                "do": "approve, waive or interval.",
                "axis": "machine/axis, to approve with @ and a snapshot; may be repeated.",
                "reason": "Why.",
                **_MANY,
            },
            required=("do", "axis"),
            document=WorkBegunDocument,
        ),
        document=ManyApprovedDocument | ManyWaivedDocument | ManyIntervalsDocument | EmptyDocument,
    ),
    Route(
        "/take-in",
        take_in,
        "Axes that exports may belong to.",
        form=Form(
            send,
            "technician",
            "Take one export in, at once.",
            {
                "axis": "machine/axis it belongs to.",
                "family": "Its family, where that cannot be told.",
                "channel": "Which axis of an export of several.",
                "partial": "Leave out what cannot be read, and record that.",
                "occasion": "commissioning, routine, as-found, as-left or after-fault.",
                **_TAKEN,
                **_ORDER,
                **_EVEN_SO,
            },
            {"export": "The export, byte for byte."},
            ("axis", "export"),
            IngestDocument,
        ),
        document=TakeInDocument,
    ),
    Route("/take-in/<upload_id>", waiting_exports, form=Form(store_waiting, "technician")),
    Route(
        _RESTORE,
        restore,
        "What a restore plan would hold; nothing is recorded.",
        _FITTED,
        Form(
            write_restore,
            "technician",
            "Make a restore plan, and record it; `do=look`: only work it out.",
            {"do": "make or look.", **_FITTED},
            document=PlanDocument,
        ),
        document=PlanDocument,
    ),
    Route(f"{_RESTORE}/sheet", sheet),
    Route(
        f"{_RESTORE}/plan/<number>",
        restore_plan,
        "A restore plan that was made, and how far it is.",
        form=Form(
            act_on_plan,
            "technician",
            "Keep what is ticked on its sheet, check by the as-left export, or sign it off.",
            {"do": "tick, check or sign-off.", **_LEFT, **_TICKS},
            {"export": "The as-left export, byte for byte."},
            document=KeptPlanDocument | RestoreCheckDocument | SignedOffDocument,
        ),
        document=KeptPlanDocument,
    ),
    Route(f"{_RESTORE}/plan/<number>/folder", restore_folder),
    Route(f"{_RESTORE}/plan/<number>/file/<name>", restore_file),
    Route(
        f"{_RESTORE}/check",
        restore_check,
        "The last check of a restore, and who signed it off.",
        form=Form(
            act_on_restore,
            "technician",
            "Take the as-left export in and hold it against the plan, or sign the restore off.",
            {"do": "check or sign-off.", **_LEFT},
            {"export": "The as-left export, byte for byte."},
            document=RestoreCheckDocument | SignedOffDocument,
        ),
        document=RestoreStandDocument,
    ),
    Route(
        f"{_RESTORE}/checked/<snapshot>",
        restore_checked,
        "The verdict about an as-left export.",
        document=RestoreCheckDocument,
    ),
    Route(
        "/audit",
        audit_page,
        "What happened around a fault, and what explains it.",
        _QUESTION,
        Form(
            pack_evidence,
            "reader",
            "Pack the evidence of an audit.",
            _QUESTION,
            required=("place",),
            document=WorkBegunDocument,
        ),
        document=AuditDocument | EmptyDocument,
    ),
    Route(
        "/health",
        health,
        "The upkeep of the vault: how it is itself.",
        form=Form(
            verify_vault,
            "admin",
            "Verify the vault.",
            {"what": "all, or what is new since it was found good."},
            document=WorkBegunDocument,
        ),
        document=HealthDocument,
    ),
    Route(
        "/manual",
        manual,
        "The contents of the manual, or where words stand in it.",
        {"text": "Words to look for."},
        document=ManualDocument,
    ),
    Route("/manual/<topic>", manual_topic, "A topic of the manual.", document=ManualDocument),
    Route("/work", all_work, "The work of the account, latest first.", document=WorksDocument),
    Route(
        "/work/<work_id>",
        one_work,
        "One work: how far it is, what came of it.",
        document=WorkDocument,
    ),
    Route("/work/<work_id>/file", work_file),
    Route("/log-in", log_in_page, form=Form(let_in, None), guarded=False),
    Route("/account", own_account, form=Form(change_account, "reader"), guarded=False),
    Route("/style.css", style, guarded=False),
    Route("/search.js", script, guarded=False),
)
