"""The addresses of one axis: its page, what it may be asked, its form."""

from __future__ import annotations

from vault.jobs.axis_form.documents import AxisFormDocument
from vault.jobs.inspect.documents import ParameterSetDocument
from vault.jobs.inspect.history_documents import ParameterHistoryDocument
from vault.jobs.inspect.margin_documents import (
    MarginHistoryDocument,
    MarginsDocument,
)
from vault.jobs.logbook.documents import HistoryDocument
from vault.jobs.records.documents import AxisAddedDocument
from vault.jobs.state.check_documents import CheckDocument
from vault.jobs.trials.documents import TrialDocument, TrialFormDocument
from webui.documents import (
    FaultNotedDocument,
)
from webui.page import Form, Route
from webui.pages.audit import note_fault
from webui.pages.axis import axis, checked, moment
from webui.pages.margins import margins, margins_at, margins_over_time
from webui.pages.parameter import parameter
from webui.pages.record import FIELDS as RECORD_FIELDS
from webui.pages.record import change_record, record, record_file
from webui.pages.standing import change_machine, change_standing, machine_record, standing
from webui.pages.trial import FIELDS as TRIAL_FIELDS
from webui.pages.trial import add_new_trial, new_trial, trial
from webui.route_fields import (
    AXIS,
    LOG,
)

AXIS_ROUTES = (
    Route(
        AXIS,
        axis,
        "Everything that happened to an axis.",
        LOG,
        Form(
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
        f"{AXIS}/record",
        record,
        "What follows from the axis record, as it is stored or as it is typed.",
        RECORD_FIELDS,
        Form(
            change_record,
            "technician",
            "Store the axis record, or only work out what follows (`do=look`).",
            {
                "do": "look, store or file.",
                "version": "What the answer told of the file that is typed over.",
                "family": "Drive family of its first export, to go on with.",
                **RECORD_FIELDS,
            },
            {"record": "An edited axis.yaml, with do=file."},
            required=("do",),
            document=AxisFormDocument | AxisAddedDocument,
        ),
        document=AxisFormDocument,
    ),
    Route(f"{AXIS}/record/file", record_file),
    Route(
        f"{AXIS}/trial",
        new_trial,
        "What a trial of the axis asks, in the safe order.",
        form=Form(
            add_new_trial,
            "technician",
            "Keep a trial, and hold it against set and record.",
            TRIAL_FIELDS,
            document=TrialDocument,
        ),
        document=TrialFormDocument,
    ),
    Route(
        f"{AXIS}/trial/<name>",
        trial,
        "A trial with what every check came to; `latest` is the latest.",
        document=TrialDocument,
    ),
    Route(f"{AXIS}/standing", standing, form=Form(change_standing, "technician")),
    Route(
        "/machine/<machine_name>/record",
        machine_record,
        form=Form(change_machine, "technician"),
    ),
    Route(
        f"{AXIS}/at/<when>",
        moment,
        "One parameter set.",
        {"reread": "Read a snapshot's export by today's dictionary."},
        document=ParameterSetDocument,
    ),
    Route(
        f"{AXIS}/at/<when>/check",
        checked,
        "What is not plausible about it.",
        document=CheckDocument,
    ),
    Route(
        f"{AXIS}/margins",
        margins,
        "What the axis has, held against what it must cover.",
        document=MarginsDocument,
    ),
    Route(
        f"{AXIS}/margins/over-time",
        margins_over_time,
        "Each snapshot at which one of these moved.",
        document=MarginHistoryDocument,
    ),
    Route(
        f"{AXIS}/at/<when>/margins",
        margins_at,
        "The same of one state.",
        document=MarginsDocument,
    ),
    Route(
        f"{AXIS}/parameter/<path:code>",
        parameter,
        "One parameter over time.",
        document=ParameterHistoryDocument,
    ),
)
