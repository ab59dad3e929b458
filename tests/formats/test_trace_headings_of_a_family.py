"""Recordings whose headings nobody knows: what the dictionary says of them, and what to write."""

from __future__ import annotations

from collections.abc import Callable
from math import pi, sin
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.formats.trace_table import read_trace
from vault.jobs.records.edit import add_family
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_kept import trace_record, trace_result
from vault.jobs.trials.trace_told import trace_told
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


def stroke(lag: int) -> bytes:
    lags = (lag * sin(pi * n / 60) if n < 60 else 0.0 for n in range(120))
    rows = (f"{n};{min(n, 60)};{now:.5f}\n" for n, now in enumerate(lags))
    return ("Tick;Axis feed;Lag\n" + "".join(rows)).encode()


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Callable[..., str]) -> Vault:
    take(export_text(), "2026-03-01T08:00:00Z")
    return vault


def described(vault: Vault, tmp_path: Path, trace: str) -> None:
    latest = vault.index.nth_latest(LIFT, 0)
    assert latest is not None
    name = latest.record.family
    content = vault.family_file(str(name)).content.decode().partition("trace: ")[0]
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


MILLIMETRES = (
    "{columns: {time: Tick, position_actual: Axis feed}, units: {time: ms, position_actual: mm}}"
)


def with_lag(unit: str) -> str:
    columns = "{time: Tick, position_actual: Axis feed, following_error: Lag}"
    return (
        f"{{columns: {columns}, units: {{time: ms, position_actual: mm, following_error: {unit}}}}}"
    )


def test_what_was_told_by_another_dictionary_is_not_told_again(lift: Vault, tmp_path: Path) -> None:
    """A viewer runs on while somebody puts the unit of a column right."""
    described(lift, tmp_path, with_lag("mm"))
    for day, times in ((2, 1), (3, 2)):
        add_trace(lift, LIFT, stroke(times), "own.csv", BY, None, f"2026-03-0{day}")
    record = trace_record(lift, LIFT, "latest")

    def lag() -> float:
        measured = trace_result(lift, LIFT, record).told["peak_lag"].measured
        assert measured is not None
        return measured.value

    before, told = lag(), trace_told(lift, LIFT, record).summary
    described(lift, tmp_path, with_lag("um"))
    assert lag() == pytest.approx(before / 1000)
    assert trace_told(lift, LIFT, record).summary != told


def test_a_trace_is_read_by_the_dictionary_of_its_own_snapshot(
    lift: Vault, tmp_path: Path, take: Take, export_text: Callable[..., str]
) -> None:
    described(lift, tmp_path, MILLIMETRES)
    add_trace(lift, LIFT, OWN, "own.csv", BY, None, "2026-03-02")
    record = trace_record(lift, LIFT, "latest")
    other = lift.family_file("hazel").content.decode().partition("trace: ")[0]
    path = tmp_path / "other.yaml"
    path.write_text(other.replace("name: hazel", "name: willow"))
    add_family(lift, path, BY)
    take(export_text(), "2026-03-04", family="willow", override_reason="another drive")
    assert len(trace_result(lift, LIFT, record).trace.times) == 40
    with pytest.raises(Unreadable):
        add_trace(lift, LIFT, OWN, "own.csv", BY)
    add_trace(lift, LIFT, OWN, "own.csv", BY, None, "2026-03-03")
