"""Drafts of generated exports: never silently wrong. `python -m tests.drafting` runs more."""

from __future__ import annotations

import pytest

from tests.drafting.cases import CONTAINERS, export_of
from tests.drafting.measure import Result, measure, misses
from tests.sweeps import part_of

SEED, CASES = 11, part_of(3) * len(CONTAINERS)


@pytest.fixture(scope="module")
def measured() -> Result:
    found = Result()
    for number in range(CASES):
        found.add(measure(export_of(SEED, number, largest=90)))
    return found


def test_generated_exports_are_read_exactly_or_refused_with_a_line(measured: Result) -> None:
    assert not measured.counts["wrong"], measured.problems
    assert measured.counts["exact"] > 0.9 * measured.counts["values"]


def test_drafts_give_no_role_unasked_whose_change_can_be_a_hazard(measured: Result) -> None:
    assert measured.counts["roles"]
    assert not measured.counts["hazards_given"]


def test_nine_of_ten_parameters_get_their_role_first(measured: Result) -> None:
    assert measured.counts["roles_first"] >= 0.9 * measured.counts["roles"]


def test_exports_come_back_byte_for_byte_by_their_drafts(measured: Result) -> None:
    assert measured.counts["written_back"] == measured.counts["same_bytes"]


def test_generated_exports_reach_every_target(measured: Result) -> None:
    assert not list(misses(measured))


def test_an_export_of_a_number_is_the_same_each_time() -> None:
    assert export_of(5, 3).content == export_of(5, 3).content
