"""In whatever order exports come in, the vault says the same as if they had come as taken."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import Any, NamedTuple

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from vault.jobs.inspect.history import history
from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.take_in import take_in
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family
from vault.jobs.verify.verify import verify
from vault.meaning.sentences import sentences
from vault.model.names import Address
from vault.store.clock import time_text
from vault.store.recorder import recording
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Export = Callable[..., str]


class Taken(NamedTuple):
    """An export: on which day of the month, from which axis, with which window."""

    day: int
    axis: Address
    lag: int


EXPORTS = st.lists(
    st.builds(Taken, st.integers(1, 28), st.just(LIFT), st.integers(1, 4)),
    unique_by=lambda taken: taken.day,
    min_size=2,
    max_size=6,
)
TIED = st.lists(
    st.builds(Taken, st.integers(1, 3), st.sampled_from([LIFT, BELT]), st.integers(1, 4)),
    min_size=2,
    max_size=6,
)


class Seen(NamedTuple):
    """What a reader sees of a vault."""

    tree: str
    lift: list[Any]
    belt: list[Any]
    problems: list[Any]


def recorded(
    exports: Sequence[Taken], family_text: str, export_text: Export, *, batch: bool
) -> Seen:
    """A new vault with these exports recorded in this order."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "hazel.yaml").write_text(family_text)
        with Vault.create(folder / "plant", "Works", BY) as vault:
            add_family(vault, folder / "hazel.yaml", BY)
            with vault.writing(), recording(vault) if batch else nullcontext() as all_of_them:
                for taken in exports:
                    who = parse_visit(BY, taken_at=f"2026-03-{taken.day:02}T12:00:00Z")
                    text = export_text(str(taken.lag)).encode()
                    export = read_for_axis(vault, taken.axis, text, f"{taken.lag}.csv", who)
                    with nullcontext(all_of_them) if batch else recording(vault) as recorder:
                        take_in(vault, recorder, taken.axis, export, who)
            return seen(vault)


def seen(vault: Vault) -> Seen:
    tree = vault.repository.resolve(f"{vault.tip}^{{tree}}")
    assert tree is not None
    told = [
        [
            (
                time_text(entry.snapshot.record.taken_at),
                entry.snapshot.record.export_name,
                sentences(entry.comparison) if entry.comparison else None,
            )
            for entry in history(vault, address)
        ]
        for address in (LIFT, BELT)
    ]
    incremental = [(s.address, s.id) for a in (LIFT, BELT) for s in vault.index.snapshots(a)]
    vault.index.rebuild()
    rebuilt = [(s.address, s.id) for a in (LIFT, BELT) for s in vault.index.snapshots(a)]
    assert incremental == rebuilt
    for address, history_of in ((LIFT, told[0]), (BELT, told[1])):
        latest = vault.latest(address)
        assert (latest.record.export_name if latest else None) == (
            history_of[-1][1] if history_of else None
        )
    return Seen(tree, told[0], told[1], verify(vault).problems)


@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(exports=EXPORTS, data=st.data())
def test_any_order_gives_the_same_history_latest_and_tree(
    exports: list[Taken], data: st.DataObject, family_text: str, export_text: Export
) -> None:
    in_order = recorded(sorted(exports), family_text, export_text, batch=False)
    assert in_order.problems == []
    assert [when for when, _, _ in in_order.lift] == sorted(when for when, _, _ in in_order.lift)
    mixed = data.draw(st.permutations(exports))
    assert recorded(mixed, family_text, export_text, batch=False) == in_order
    assert recorded(mixed, family_text, export_text, batch=True) == in_order


@settings(
    max_examples=5, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(exports=TIED)
def test_exports_of_one_moment_stay_in_the_order_they_came(
    exports: list[Taken], family_text: str, export_text: Export
) -> None:
    as_taken = sorted(exports, key=lambda taken: taken.day)  # a stable sort keeps that order
    in_order = recorded(as_taken, family_text, export_text, batch=False)
    assert in_order.problems == []
    assert recorded(exports, family_text, export_text, batch=False) == in_order
    assert recorded(exports, family_text, export_text, batch=True) == in_order
