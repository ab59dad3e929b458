"""Rows about the viewer: the page of the site, alone and with many people at once."""

from __future__ import annotations

from statistics import median

from tests.bench.load import READERS, WRITERS, looks_at_git, under_load
from tests.bench.measure import in_turn
from tests.bench.rows import Figures, row, within
from tests.bench.stage import Stage
from vault.store.vault import Vault
from webui.app import create_app

_LOAD_SECONDS, _LOAD_SECONDS_QUICK = 60.0, 8.0


@row(
    "site",
    "the page of a site, while nothing has changed",
    "git rev-parse HEAD, ten times",
    within(1),
)
def site(stage: Stage) -> Figures:
    client = create_app(stage.fleet, is_local=True).test_client()

    def ours() -> None:
        if client.get("/").status_code != 200:
            raise RuntimeError("the page is not shown")

    with Vault.open(stage.fleet) as vault:
        note = f"{len(vault.index.axes()):,} axes"
    return Figures(*in_turn(ours, lambda: looks_at_git(stage.fleet), stage.runs), note=note)


@row(
    "load",
    f"the same page, while {READERS} people read and {WRITERS} store exports",
    "git rev-parse HEAD, ten times, at the same time",
    within(1),
)
def load(stage: Stage) -> Figures:
    found = under_load(stage.fleet, _LOAD_SECONDS_QUICK if stage.quick else _LOAD_SECONDS)
    if found.errors:
        raise RuntimeError(f"{len(found.errors)} errors, the first: {found.errors[0]}")
    note = f"{found.answers:,} answers, {len(found.stored)} exports stored, none lost, no error"
    return Figures(median(found.pages), median(found.looks), note=note)
