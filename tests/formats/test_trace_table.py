"""Traces as tables: what is read without a dictionary, and what is refused with its line."""

from __future__ import annotations

import math
from io import BytesIO

import openpyxl
import pytest

from vault.formats.trace_headings import read_heading
from vault.formats.trace_table import read_trace
from vault.model.errors import Unreadable
from vault.model.trace import Trace


def rows(count: int = 30, step: float = 0.01) -> list[tuple[float, float]]:
    return [(number * step, math.sin(number / 5)) for number in range(count)]


def table(
    heads: tuple[str, ...] = ("time [s]", "position actual [mm]"),
    mark: str = ",",
    decimal: str = ".",
    body: list[tuple[float, float]] | None = None,
    above: str = "",
    below: str = "",
) -> bytes:
    lines = [mark.join(heads)]
    data = rows() if body is None else body
    lines += [mark.join(f"{cell:.6f}".replace(".", decimal) for cell in row) for row in data]
    return (above + "\n".join(lines) + "\n" + below).encode()


def read(content: bytes) -> Trace:
    return read_trace(content, "move.csv")


def refused(content: bytes) -> Unreadable:
    with pytest.raises(Unreadable) as caught:
        read(content)
    assert caught.value.file == "move.csv"
    return caught.value


@pytest.mark.parametrize(
    "mark, decimal", [(",", "."), (";", ","), (";", "."), ("\t", ","), ("|", ".")]
)
def test_every_usual_mark_gives_the_same_samples(mark: str, decimal: str) -> None:
    found = read(table(mark=mark, decimal=decimal))
    assert found.columns["position_actual"].samples[7] == pytest.approx(math.sin(7 / 5), abs=1e-6)
    assert found.times[7] == pytest.approx(0.07)


def test_units_may_stand_in_a_row_of_their_own_and_lines_above_and_below_are_passed_over() -> None:
    body = "\n".join(f"{10 * n};{n},5" for n in range(25))
    text = f"Recorder 3\nChannels: 2\n\nZeit;Lageistwert\n[ms];[mm]\n{body}\nend of recording\n"
    found = read(text.encode("windows-1252"))
    assert found.times[3] == pytest.approx(0.03)
    assert found.columns["position_actual"].unit == "mm"
    assert found.columns["position_actual"].samples[3] == 3.5
    assert len(found.times) == 25


@pytest.mark.parametrize(
    "text, channel, unit",
    [
        ("time [s]", "time", "s"),
        ("Zeit (ms)", "time", "ms"),
        ("position demand [mm]", "position_demand", "mm"),
        ("Lagesollwert / mm", "position_demand", "mm"),
        ("Istdrehzahl in r/min", "velocity_actual", "r/min"),
        ("torque actual [permille_rated_torque]", "torque_actual", "permille_rated_torque"),
        ("following error [mm]", "following_error", "mm"),
        ("Schleppfehler [mm]", "following_error", "mm"),
        ("current [A]", "current_actual", "A"),
        ("6064h [increments]", "position_actual", "increments"),
        ("0x606C [mm/s]", "velocity_actual", "mm/s"),
        ("positionActual", "position_actual", None),
        ("bus voltage [V]", None, "V"),
        ("torque demand [%]", "torque_demand", "%"),
    ],
)
def test_headings_name_their_channel_and_unit(
    text: str, channel: str | None, unit: str | None
) -> None:
    assert read_heading(text) == (channel, unit)


def test_a_column_that_is_no_channel_is_told_and_not_used() -> None:
    body = [(*row, 540.0) for row in rows()]
    heads = ("time [s]", "position actual [mm]", "bus voltage [V]")
    assert read(table(heads, body=body)).not_used == ("bus voltage [V]",)


def test_a_gap_is_marked_with_its_line_and_uneven_steps_are_told() -> None:
    body = [row for row in rows(60) if not 0.2 < row[0] < 0.29]
    found = read(table(body=body))
    assert [(gap.line, gap.begin, gap.end) for gap in found.gaps] == [
        (23, pytest.approx(0.2), pytest.approx(0.29))
    ]
    assert not found.uneven
    shifted = [(time + (0.003 if at % 2 else 0), place) for at, (time, place) in enumerate(rows())]
    assert read(table(body=shifted)).uneven


def test_headings_that_stand_once_more_below_are_refused_and_drop_nothing() -> None:
    first, *samples = table().decode().splitlines()
    error = refused("\n".join([first, *samples, first, *samples]).encode())
    assert error.line == len(samples) + 2


def test_time_that_does_not_rise_is_refused_with_its_line() -> None:
    body = rows()
    body[10] = body[9]
    error = refused(table(body=body))
    assert error.line == 12
    assert "time does not rise" in error.message


def test_a_column_without_unit_is_refused_by_name() -> None:
    error = refused(table(("time [s]", "position actual")))
    assert error.line == 1
    assert "'position actual' has no unit" in error.message


def test_a_unit_that_nobody_knows_is_refused() -> None:
    assert "'quux'" in refused(table(("time [s]", "position actual [quux]"))).message


def test_a_time_in_another_unit_than_of_time_is_refused() -> None:
    assert "no time" in refused(table(("time [mm]", "position actual [mm]"))).message


@pytest.mark.parametrize("cell", ["nan", "inf", "", "n/a", "1e999"])
def test_a_cell_that_is_no_number_is_refused_with_its_line(cell: str) -> None:
    text = table().decode().splitlines()
    text[5] = f"0.04,{cell}"
    error = refused("\n".join(text).encode())
    assert error.line == 6
    assert "where a number belongs" in error.message


def test_nineteen_samples_are_too_few_and_twenty_are_not() -> None:
    assert "at least 20" in refused(table(body=rows(19))).message
    assert len(read(table(body=rows(20))).times) == 20


def test_two_columns_for_one_channel_are_refused_unless_one_is_named() -> None:
    heads = ("time [s]", "position actual [mm]", "actual position 2 [mm]")
    content = table(heads, body=[(*row, 1.0) for row in rows()])
    assert "two columns for position actual" in refused(content).message


def test_a_comma_that_may_be_either_is_refused() -> None:
    lines = ["time [ms];position actual [mm]", *(f"{n + 1};{n + 1},234" for n in range(25))]
    assert "decimals or thousands" in refused("\n".join(lines).encode()).message


def test_a_comma_is_the_decimal_mark_where_one_cell_proves_it() -> None:
    lines = ["time [ms];position actual [mm]", *(f"{n};{n},234" for n in range(25))]
    found = read("\n".join(lines).encode())
    assert found.columns["position_actual"].samples[2] == 2.234


def test_a_heading_of_another_name_is_read_where_somebody_says_which() -> None:
    content = table(("time [s]", "channel 4 [mm]"))
    assert "no row of headings" in refused(content).message
    found = read_trace(content, "move.csv", {"position_actual": "channel 4 [mm]"})
    assert found.columns["position_actual"].unit == "mm"


def test_a_workbook_is_read_as_text_is() -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Recorder 3"])
    sheet.append(["time [s]", "position actual [mm]"])
    for row in rows():
        sheet.append(list(row))
    content = BytesIO()
    book.save(content)
    found = read(content.getvalue())
    assert found.columns["position_actual"].samples[7] == pytest.approx(math.sin(7 / 5))
    assert len(found.times) == 30


def test_a_parameter_export_is_no_trace() -> None:
    assert "needs a column of time" in refused(b"Code;Name;Value\nP1;Gain;30\n").message
