"""The pages, one module each."""

from __future__ import annotations

from webui.page import Route
from webui.pages.audit import audit_page
from webui.pages.axis import axis, checked, moment
from webui.pages.difference import difference
from webui.pages.families import families, family
from webui.pages.find import find_page
from webui.pages.health import health
from webui.pages.parameter import parameter
from webui.pages.restore import restore, sheet
from webui.pages.site import machine, site
from webui.pages.spread import spread_page
from webui.pages.style import style

_AXIS = "/axis/<machine_name>/<axis_name>"
_STATE = "A state: machine/axis@WHEN."

ALL = (
    Route("/", site, "How every axis stands."),
    Route("/machine/<machine_name>", machine, "How the axes of a machine stand."),
    Route(_AXIS, axis, "The snapshots of an axis, edits of its record, and its faults."),
    Route(f"{_AXIS}/at/<when>", moment, "One parameter set."),
    Route(f"{_AXIS}/at/<when>/check", checked, "What is not plausible about it."),
    Route(f"{_AXIS}/parameter/<path:code>", parameter, "One parameter over time."),
    Route(
        "/compare",
        difference,
        "The semantic difference between two states.",
        {
            "left": _STATE,
            "right": _STATE,
            "all": "Also what is only restated, or live.",
            "fault": "Rank by what can explain a fault.",
        },
    ),
    Route(
        "/spread",
        spread_page,
        "Many axes side by side.",
        {"pattern": "Fits axes, as */lift.", "parameter": "One parameter, by code or role."},
    ),
    Route(
        "/find",
        find_page,
        "Which axes have, or had, a setting.",
        {
            "text": "A code, a role, or part of a name or label.",
            "value": "A condition, as > 5 mm.",
            "now": "Only what is there now.",
        },
    ),
    Route("/families", families, "The drive families."),
    Route("/families/<name>", family, "The dictionary of a drive family."),
    Route(
        "/restore/<machine_name>/<axis_name>",
        restore,
        "What a restore plan would hold; nothing is recorded.",
        {
            "when": "The state to restore; else the golden baseline, else the latest.",
            "drive": "Order code of the fitted drive.",
            "firmware": "Its firmware.",
            "motor": "Order code of the fitted motor.",
            "onto": "The fitted drive is of another family.",
            "adapt": "Correct for the fitted hardware.",
        },
    ),
    Route("/restore/<machine_name>/<axis_name>/sheet", sheet),
    Route(
        "/audit",
        audit_page,
        "What happened around a fault, and what explains it.",
        {
            "place": "A machine, or machine/axis.",
            "fault": "A fault code.",
            "at": "When it tripped.",
            "from": "Begin of the period.",
            "to": "Its end.",
        },
    ),
    Route("/health", health, "How the vault itself is."),
    Route("/style.css", style),
)
"""All of them, in the order of use."""
