"""The addresses of the traces of an axis."""

from __future__ import annotations

from vault.jobs.trials.trace_documents import TraceDocument, TracesDocument
from webui.page import Form, Route
from webui.pages.trace import send_trace, trace, trace_file, traces
from webui.route_fields import AXIS

TRACE_ROUTES = (
    Route(
        f"{AXIS}/trace",
        traces,
        "The traces of an axis, newest first.",
        form=Form(
            send_trace,
            "technician",
            "Keep the recording of a move, and say what it tells.",
            {
                "move": "Name of the move, so that later traces are held against this one.",
                "taken_at": "When it was recorded; else now.",
            },
            {"trace": "The recording: a table of time, position, speed, torque."},
            document=TraceDocument,
        ),
        document=TracesDocument,
    ),
    Route(
        f"{AXIS}/trace/<name>",
        trace,
        "A trace with what it tells; `latest` is the latest.",
        document=TraceDocument,
    ),
    Route(f"{AXIS}/trace/<name>/file", trace_file),
)
