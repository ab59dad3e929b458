"""The difference between two states: margins that are short, causes, cards, other margins."""

from __future__ import annotations

from vault.jobs.state.compare import compare_by_one_dictionary
from vault.jobs.state.compare_machines import is_machine
from vault.jobs.state.documents import comparison_document
from vault.jobs.state.selectors import resolve, view_of
from vault.meaning.margin_news import arranged
from vault.meaning.own_of_each import Apart, own_of_each_text, own_plates, set_apart
from vault.model.errors import WrongUsage
from vault.store.vault import Vault
from webui.page import Page
from webui.pages.compare_machines import compare_form, machines_page
from webui.pictures.gallery import Gallery
from webui.request_fields import query_arg, selector


def difference(vault: Vault) -> Page:
    """`left` and `right` are selectors; `all=1` shows everything, `fault` ranks by a fault.

    Of two machines it is their pairs. What two axes have each for itself is folded away.
    """
    left, right = query_arg("left"), query_arg("right")
    if left is None or right is None:
        if left is None and right is None:
            return compare_form(vault)
        raise WrongUsage("a difference takes two states", hint="left and right")
    if is_machine(left) and is_machine(right):
        return machines_page(vault, left, right)
    everything, fault = query_arg("all") is not None, query_arg("fault")
    states = resolve(vault, selector(left)), resolve(vault, selector(right))
    left, right = (state.name for state in states)
    compared = compare_by_one_dictionary(*states)
    reported = compared.fault(fault) if fault is not None else None
    comparison = compared.comparison
    wanted = comparison.changes if everything else comparison.news
    causes = {cause.name for cause in comparison.causes}
    gallery = Gallery(
        compared, view_of(compared.left, compared.right), view_of(compared.right, compared.left)
    )
    cards = [c for c in wanted if everything or c.kind != "shifted" or c.cause not in causes]
    apart = Apart(tuple(cards), comparison.surroundings, (), ())
    if compared.sides is not None and not everything:
        plates = own_plates(compared.left.nameplate, compared.right.nameplate)
        apart = set_apart(cards, comparison.surroundings, plates)
    return Page(
        "difference.html",
        f"{left} and {right}",
        lambda: comparison_document(compared, everything=everything, fault=reported),
        {
            "compared": compared,
            "apart": apart,
            "own_text": own_of_each_text(apart.own_changes, apart.own_places),
            "gallery": gallery,
            "folded": {
                name: [c for c in comparison.news if c.kind == "shifted" and c.cause == name]
                for name in causes
            },
            "moves": arranged(
                comparison.margins, two_axes=compared.sides is not None, everything=everything
            ),
            "everything": everything,
            "fault": reported,
            "suspects": compared.suspects(reported) if reported is not None else [],
            "left": left,
            "right": right,
            "drifts_of": _drifts_of(left, right),
            "summary": comparison.summary(),
        },
        (("Site", "/"),),
    )


def _drifts_of(left: str, right: str) -> str | None:
    """The axis that is held against its own baseline, if it is that; then what differs drifts."""
    axis, _, when = left.partition("@")
    other, _, state = right.partition("@")
    is_drift = when == "golden" and axis == other and state in ("", "latest")
    return axis if is_drift else None
