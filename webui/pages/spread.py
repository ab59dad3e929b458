"""Many axes side by side, odd ones out."""

from __future__ import annotations

from vault.jobs.inspect.documents import spread_document
from vault.jobs.inspect.margin_documents import margin_spread_document
from vault.jobs.inspect.spread import margin_spread, spread
from vault.meaning.spread_strip import by_value, spread_strip
from vault.store.vault import Vault
from webui.page import Page
from webui.request_fields import query_arg

_MOST_ANSWERS = 8  # at once; further ones are folded
_MOST_LISTED = 200


def spread_page(vault: Vault) -> Page:
    """`pattern` fits axes, as `*/lift`; `all=1` shows what is the same.

    With `parameter` it is one value over all axes as a picture, and by value.

    With `margins=1` it is their margins.
    """
    pattern = query_arg("pattern")
    crumbs = (("Site", "/"),)
    if pattern is None:
        content = {"has_axes": bool(vault.axes())}
        return Page("spread_form.html", "Odd ones out", dict, content, crumbs)
    if query_arg("margins") is not None:
        return _by_margin(vault, pattern)
    parameter = query_arg("parameter")
    compared = spread(vault, pattern, parameter)
    everything = query_arg("all") is not None or parameter is not None
    title = f"{compared.rows[0].name} on {pattern}" if parameter else f"Axes {pattern} side by side"
    return Page(
        "spread_parameter.html" if parameter else "spread.html",
        title,
        lambda: spread_document(compared),
        {
            "spread": compared,
            "rows": compared.rows if everything else compared.differing,
            "strip_of": spread_strip,
            "by_value": by_value,
            "answers": compared.answers[:_MOST_ANSWERS],
            "more_answers": compared.answers[_MOST_ANSWERS:_MOST_LISTED],
            "parameter": parameter,
            "same": len(compared.rows) - len(compared.differing),
            "pattern": pattern,
            "everything": everything,
        },
        crumbs,
    )


def _by_margin(vault: Vault, pattern: str) -> Page:
    found = margin_spread(vault, pattern)
    everything = query_arg("all") is not None
    return Page(
        "margin_spread.html",
        f"Margins of {pattern} side by side",
        lambda: margin_spread_document(found),
        {
            "spread": found,
            "rows": found.rows if everything else found.odd,
            "same": len(found.rows) - len(found.odd),
            "pattern": pattern,
            "everything": everything,
        },
        (("Site", "/"),),
    )
