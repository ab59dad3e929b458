"""Rows about the viewer: the page of the site, alone and with many people at once."""

from __future__ import annotations

from itertools import cycle
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
    "search",
    "search while typing: each key of what somebody types into the box",
    "git rev-parse HEAD, ten times",
    within(1),
)
def search(stage: Stage) -> Figures:
    """A name of an axis, a parameter in other words than its own, and what nothing is called."""
    client = create_app(stage.fleet, is_local=True).test_client()
    typed = ("machine-001/axis-1", "schleppfehler", "following eror")
    keys = cycle([text[:n] for text in typed for n in range(2, len(text) + 1)])

    def ours() -> None:
        if client.get("/api/v1/search", query_string={"text": next(keys)}).status_code != 200:
            raise RuntimeError("nothing is answered")

    runs = 2 * sum(map(len, typed))  # each of them once at least
    times = in_turn(ours, lambda: looks_at_git(stage.fleet), runs)
    return Figures(*times, note="the median of all keys, at which something is found or nothing")


def _page(stage: Stage, address: str) -> Figures:
    """How long a page takes that was shown before, as people turn back to it."""
    client = create_app(stage.fleet, is_local=True).test_client()

    def ours() -> None:
        if client.get(address).status_code != 200:
            raise RuntimeError(f"{address} is not shown")

    ours()
    return Figures(*in_turn(ours, lambda: looks_at_git(stage.fleet), stage.runs))


def _some_axis(stage: Stage) -> str:
    with Vault.open(stage.fleet) as vault:
        return str(vault.axes()[0])


@row("difference", "the page of a difference, warm", "git rev-parse HEAD, ten times", within(1))
def difference(stage: Stage) -> Figures:
    axis = _some_axis(stage)
    return _page(stage, f"/compare?left={axis}@first&right={axis}")


@row("axis", "the page of an axis, warm", "git rev-parse HEAD, ten times", within(1))
def axis(stage: Stage) -> Figures:
    return _page(stage, f"/axis/{_some_axis(stage)}")


@row("machine", "the page of a machine, warm", "git rev-parse HEAD, ten times", within(1))
def machine(stage: Stage) -> Figures:
    return _page(stage, f"/machine/{_some_axis(stage).partition('/')[0]}")


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
