"""Every address of the viewer, in the order of use: its page, what it may be asked, its form."""

from __future__ import annotations

from vault.jobs.alerts.documents import AlertsDocument
from vault.jobs.audit.documents import AuditDocument
from vault.jobs.baseline.documents import DriftDocument, GoldenDocument
from vault.jobs.baseline.many_documents import (
    ManyApprovedDocument,
    ManyIntervalsDocument,
    ManyWaivedDocument,
)
from vault.jobs.baseline.waiver_documents import EndingWaiversDocument
from vault.jobs.faults.documents import SiteFaultsDocument
from vault.jobs.inspect.documents import FindDocument, SpreadDocument
from vault.jobs.inspect.margin_documents import (
    MarginSpreadDocument,
)
from vault.jobs.inspect.search_documents import SearchDocument
from vault.jobs.intake.documents import IngestDocument
from vault.jobs.manual.documents import ManualDocument
from vault.jobs.records.documents import DictionaryDocument, FamiliesDocument
from vault.jobs.state.compare_machines_documents import MachineComparisonDocument
from vault.jobs.state.document_parts import EmptyDocument
from vault.jobs.state.documents import ComparisonDocument
from webui.axis_filter import FIELDS
from webui.axis_routes import AXIS_ROUTES
from webui.documents import (
    HealthDocument,
    TakeInDocument,
)
from webui.page import Form, Route
from webui.pages.account import change_account, let_in, log_in_page, own_account
from webui.pages.audit import audit_page, pack_evidence
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
from webui.pages.new_axis import make_new_axis, new_axis
from webui.pages.settings import refused, settings
from webui.pages.site import machine, site
from webui.pages.site_lists import site_alerts, site_faults, site_waivers
from webui.pages.spread import spread_page
from webui.pages.take_in import send, store_waiting, take_in, waiting_exports
from webui.pages.work import all_work, one_work, work_file
from webui.restore_routes import RESTORE_ROUTES
from webui.route_fields import (
    AXIS,
    EVEN_SO,
    MANY,
    ORDER,
    QUESTION,
    SIDE,
    STATE,
    TAKEN,
    WHICH,
)
from webui.trace_routes import TRACE_ROUTES
from webui.work_documents import WorkBegunDocument, WorkDocument, WorksDocument

ROUTES = (
    Route("/", site, "How every axis stands.", FIELDS, document=DriftDocument),
    Route(
        "/machine/<machine_name>",
        machine,
        "How the axes of a machine stand.",
        FIELDS,
        document=DriftDocument,
    ),
    *AXIS_ROUTES,
    *TRACE_ROUTES,
    Route(
        "/compare",
        difference,
        "The semantic difference between two states, or two machines axis by axis.",
        {
            "left": f"{STATE} Or a machine.",
            "right": f"{STATE} Or a machine.",
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
            "all": "On the page: every row of a long table.",
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
    Route(
        "/faults",
        site_faults,
        "The newest faults of all axes.",
        {"code": "Only those of a code."},
        document=SiteFaultsDocument,
    ),
    Route(
        "/waivers",
        site_waivers,
        "Waivers that have ended, or end soon.",
        {"days": "How many days to look ahead; 30 where nothing is said."},
        document=EndingWaiversDocument,
    ),
    Route("/alerts", site_alerts, "Messages about drift of late.", document=AlertsDocument),
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
        f"{AXIS}/golden",
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
        {**WHICH, **MANY},
        Form(
            change_baselines,
            "approver",
            "Approve, or waive, on many axes at once, or say when their exports are due.",
            {
                "do": "approve, waive or interval.",
                "axis": "machine/axis, to approve with @ and a snapshot; may be repeated.",
                "reason": "Why.",
                **MANY,
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
                **SIDE,
                "family": "Its family, where that cannot be told.",
                "channel": "Which axis of an export of several.",
                "partial": "Leave out what cannot be read, and record that.",
                "occasion": "commissioning, routine, as-found, as-left or after-fault.",
                **TAKEN,
                **ORDER,
                **EVEN_SO,
            },
            {"export": "The export, byte for byte."},
            ("axis", "export"),
            IngestDocument,
        ),
        document=TakeInDocument,
    ),
    Route("/new-axis", new_axis, form=Form(make_new_axis, "technician")),
    Route("/refused", refused),
    Route("/take-in/<upload_id>", waiting_exports, form=Form(store_waiting, "technician")),
    *RESTORE_ROUTES,
    Route(
        "/audit",
        audit_page,
        "What happened around a fault, and what explains it.",
        QUESTION,
        Form(
            pack_evidence,
            "reader",
            "Pack the evidence of an audit.",
            QUESTION,
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
    Route("/settings", settings),
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
)
