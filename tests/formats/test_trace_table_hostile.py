"""Traces that no drive recorded: each is refused with its line, or nothing of it overflows."""

from __future__ import annotations

import re
import warnings

import numpy as np
import pytest

from vault.behaviour.trace.evaluate import Known, evaluate
from vault.behaviour.trace.signals import Recorded
from vault.formats.trace_table import read_trace
from vault.model.errors import Unreadable

HEAD = "time [ms];position actual [mm];torque [N*m]\n"


def table(odd: str, at: int = 30, head: str = HEAD) -> bytes:
    """Sixty samples, one of which is odd; its line is `at` + 2."""
    rows = [f"{n};{n * 0.5};1" for n in range(60)]
    rows[at] = odd
    return (head + "\n".join(rows) + "\n").encode()


@pytest.mark.parametrize(
    ("odd", "said"),
    [
        ("30;1e308;1", "'1e308' stands below 'position actual"),
        ("30;15;-1e21", "'-1e21' stands below 'torque"),
        ("30;" + "9" * 4_000 + ";1", "9…' stands below"),
        ("29.0000001;15;1", "no recording is so quick"),
        ("30;15;1;" + "x" * 200_000, "is no row of samples"),
        ('30;15;"' + "9" * 200_000 + '"', "is no row of samples"),
        ("=1+1;15;1", "'=1+1' stands below 'time"),
        ("30;NaN;1", "'NaN' stands below"),
        ("12;15;1", "time does not rise"),
    ],
)
def test_what_no_drive_recorded_is_refused_with_its_line(odd: str, said: str) -> None:
    with pytest.raises(Unreadable) as refused:
        read_trace(table(odd), "move.csv")
    assert said in refused.value.message
    assert refused.value.line == 32
    assert len(refused.value.message) < 300


def test_a_heading_without_end_is_refused() -> None:
    head = f"time [ms];position [mm];{'x' * 5_000_000}\n"
    with pytest.raises(Unreadable, match="is no row of samples") as refused:
        read_trace(table("30;15;1", head=head), "move.csv")
    assert refused.value.line == 1


@pytest.mark.parametrize("size", [1e20, -1e20, 1e-300])
@pytest.mark.parametrize("step", [1e-9, 1.0, 1e18])
def test_nothing_overflows_of_the_largest_that_is_read(size: float, step: float) -> None:
    samples = np.arange(60.0)
    places = size * (samples % 7) / 7
    recorded = Recorded(samples * step, demand=places, actual=places[::-1], torque=places)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert evaluate(recorded, Known(per_radian=0.001, window=0.001))


def test_who_has_other_headings_is_told_which_are_read() -> None:
    with pytest.raises(Unreadable) as refused:
        read_trace(table("30;15;1", head="t/s;x_ist/mm;M/Nm\n"), "move.csv")
    hint = str(refused.value.hint)
    told = re.findall(r"'([^']+)'", hint)
    assert len(told) == 6
    found = read_trace(table("30;15;1", head=";".join(told[:3]) + "\n"), "move.csv")
    assert set(found.columns) == {"position_demand", "position_actual"}
