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

ALL = (
    Route("/", site),
    Route("/machine/<machine_name>", machine),
    Route("/axis/<machine_name>/<axis_name>", axis),
    Route("/axis/<machine_name>/<axis_name>/at/<when>", moment),
    Route("/axis/<machine_name>/<axis_name>/at/<when>/check", checked),
    Route("/axis/<machine_name>/<axis_name>/parameter/<path:code>", parameter),
    Route("/compare", difference),
    Route("/spread", spread_page),
    Route("/find", find_page),
    Route("/families", families),
    Route("/families/<name>", family),
    Route("/restore/<machine_name>/<axis_name>", restore),
    Route("/restore/<machine_name>/<axis_name>/sheet", sheet),
    Route("/audit", audit_page),
    Route("/health", health),
    Route("/style.css", style),
)
"""All of them, in the order of use."""
