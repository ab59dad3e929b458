"""The addresses of restoring an axis: its page, what it may be asked, its form."""

from __future__ import annotations

from vault.jobs.restore.documents import RestoreCheckDocument, SignedOffDocument
from vault.jobs.restore.plan_documents import PlanDocument
from webui.documents import (
    KeptPlanDocument,
    RestoreStandDocument,
)
from webui.page import Form, Route
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
from webui.route_fields import (
    FITTED,
    LEFT,
    RESTORE,
    TICKS,
)

RESTORE_ROUTES = (
    Route(
        RESTORE,
        restore,
        "What a restore plan would hold; nothing is recorded.",
        FITTED,
        Form(
            write_restore,
            "technician",
            "Make a restore plan, and record it; `do=look`: only work it out.",
            {"do": "make or look.", **FITTED},
            document=PlanDocument,
        ),
        document=PlanDocument,
    ),
    Route(f"{RESTORE}/sheet", sheet),
    Route(
        f"{RESTORE}/plan/<number>",
        restore_plan,
        "A restore plan that was made, and how far it is.",
        form=Form(
            act_on_plan,
            "technician",
            "Keep what is ticked on its sheet, check by the as-left export, or sign it off.",
            {"do": "tick, check or sign-off.", **LEFT, **TICKS},
            {"export": "The as-left export, byte for byte."},
            document=KeptPlanDocument | RestoreCheckDocument | SignedOffDocument,
        ),
        document=KeptPlanDocument,
    ),
    Route(f"{RESTORE}/plan/<number>/folder", restore_folder),
    Route(f"{RESTORE}/plan/<number>/file/<name>", restore_file),
    Route(
        f"{RESTORE}/check",
        restore_check,
        "The last check of a restore, and who signed it off.",
        form=Form(
            act_on_restore,
            "technician",
            "Take the as-left export in and hold it against the plan, or sign the restore off.",
            {"do": "check or sign-off.", **LEFT},
            {"export": "The as-left export, byte for byte."},
            document=RestoreCheckDocument | SignedOffDocument,
        ),
        document=RestoreStandDocument,
    ),
    Route(
        f"{RESTORE}/checked/<snapshot>",
        restore_checked,
        "The verdict about an as-left export.",
        document=RestoreCheckDocument,
    ),
)
