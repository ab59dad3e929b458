"""The margins of an axis: what it has, held against what it must cover, with a bar for each."""

from __future__ import annotations

from vault.behaviour.facts import Kind
from vault.jobs.inspect.margin_documents import margin_history_document, margins_document
from vault.jobs.inspect.margin_history import margin_history
from vault.jobs.inspect.margins import AxisMargin, AxisMargins, axis_margins
from vault.jobs.inspect.spread import has_twin
from vault.jobs.inspect.to_enter import asked_later, dictionary_steps, supposing, wanted
from vault.jobs.state.selectors import resolve
from vault.meaning.margin_text import KINDS
from vault.store.vault import Vault
from webui.page import Page, axis_crumbs
from webui.request_fields import selector


def margins(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The margins of the latest state."""
    return _page(vault, machine_name, axis_name, "latest")


def margins_at(vault: Vault, machine_name: str, axis_name: str, when: str) -> Page:
    """The margins of one state."""
    return _page(vault, machine_name, axis_name, when)


def margins_over_time(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """How the margins moved, with a picture of the steps of each."""
    name = f"{machine_name}/{axis_name}"
    timelines = margin_history(vault, vault.require_whole_axis(vault.address(name)))
    return Page(
        "margins_over_time.html",
        f"Margins of {name} over time",
        lambda: margin_history_document(name, timelines),
        {
            "address": name,
            "moved": [each for each in timelines if each.has_moved],
            "still": [each for each in timelines if not each.has_moved],
        },
        (*axis_crumbs(machine_name, axis_name), ("Margins", f"/axis/{name}/margins")),
    )


def _page(vault: Vault, machine_name: str, axis_name: str, when: str) -> Page:
    name = f"{machine_name}/{axis_name}"
    found = axis_margins(resolve(vault, selector(f"{name}@{when}")))
    return Page(
        "margins.html",
        f"Margins of {name}",
        lambda: margins_document(found),
        {
            "address": name,
            "when": when,
            "found": found,
            "sections": _sections(found),
            "notes": _notes(found),
            "has_twin": has_twin(vault, vault.address(name)),
            "wanted": wanted(found),
            "later": asked_later(found),
            "supposing": supposing(found),
            "dictionary_steps": dictionary_steps(found),
        },
        axis_crumbs(machine_name, axis_name),
    )


def _sections(found: AxisMargins) -> list[tuple[Kind, str, list[AxisMargin]]]:
    """What is known, kind by kind."""
    return [
        (kind, f"What {words}", rows)
        for kind, words in KINDS.items()
        if (rows := [row for row in found.known if row.margin.kind == kind])
    ]


def _notes(found: AxisMargins) -> dict[str, int]:
    """What is told once for many margins, each with its number on the page."""
    notes: dict[str, int] = {}
    for row in found.known:
        for note in found.notes(row):
            notes.setdefault(note, len(notes) + 1)
    return notes
