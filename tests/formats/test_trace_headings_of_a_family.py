"""Recordings whose headings nobody knows: what the dictionary says of them, and what to write."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.formats.trace_table import read_trace
from vault.jobs.records.edit import add_family
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_kept import trace_record, trace_result
from vault.model.errors import Unreadable
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
ROWS = "".join(f"{n};{n / 10}\n" for n in range(40))
OWN = f"recorded today\nTick;Axis feed\n{ROWS}".encode()
NAMES = {"time": "Tick", "position_actual": "axis  feed"}


def test_a_refusal_says_what_to_write_into_the_dictionary() -> None:
    with pytest.raises(Unreadable) as refused:
        read_trace(OWN, "own.csv")
    assert refused.value.line == 2
    assert 'which of "Tick", "Axis feed" is which' in str(refused.value.hint)
    assert 'trace: {columns: {time: "Tick", position_actual: "Axis feed"}}' in str(
        refused.value.hint
    )


def test_a_column_without_unit_says_where_its_unit_is_written() -> None:
    with pytest.raises(Unreadable, match="no unit") as refused:
        read_trace(OWN, "own.csv", NAMES, {"time": "ms"})
    assert "trace: {units: {position_actual: UNIT}}" in str(refused.value.hint)


def test_names_and_units_of_a_dictionary_read_what_states_neither() -> None:
    trace = read_trace(OWN, "own.csv", NAMES, {"time": "ms", "position_actual": "mm"})
    assert trace.times[:2] == (0.0, 0.001)
    assert trace.columns["position_actual"].unit == "mm"
    stated = OWN.replace(b"Axis feed", b"Axis feed [um]")
    trace = read_trace(stated, "own.csv", NAMES, {"time": "ms", "position_actual": "mm"})
    assert trace.columns["position_actual"].unit == "um"  # what the file states goes before


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Callable[..., str]) -> Vault:
    take(export_text(), "2026-03-01T08:00:00Z")
    return vault


def described(vault: Vault, tmp_path: Path, trace: str) -> None:
    latest = vault.index.nth_latest(LIFT, 0)
    assert latest is not None
    name = latest.record.family
    content = vault.family_file(str(name)).content.decode()
    path = tmp_path / "with-trace.yaml"
    path.write_text(f"{content}trace: {trace}\n")
    add_family(vault, path, BY)


def test_the_dictionary_of_the_axis_is_asked(lift: Vault, tmp_path: Path) -> None:
    with pytest.raises(Unreadable):
        add_trace(lift, LIFT, OWN, "own.csv", BY)
    described(
        lift, tmp_path,
        "{columns: {time: Tick, position_actual: Axis feed}, "
        "units: {time: ms, position_actual: mm}}",
    )  # fmt: skip
    add_trace(lift, LIFT, OWN, "own.csv", BY)
    result = trace_result(lift, LIFT, trace_record(lift, LIFT, "latest"))
    assert len(result.trace.times) == 40


@pytest.mark.parametrize(
    ("trace", "said"),
    [
        ("{columns: {positon_actual: A}}", "no channel of a trace"),
        ("{units: {position_actual: bananas}}", "bananas"),
    ],
)
def test_a_channel_or_unit_that_is_none_is_refused(
    lift: Vault, tmp_path: Path, trace: str, said: str
) -> None:
    with pytest.raises(Unreadable, match=said):
        described(lift, tmp_path, trace)
