"""What the index keeps of an assessment is the assessment itself, to the last digit."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from vault.jobs.baseline.assess import Assessment
from vault.jobs.baseline.assessment_text import assessment_text, read_assessment
from vault.meaning.changes import Change, Difference, Finding
from vault.meaning.drift import Deviation
from vault.meaning.floors import UnkeptFloor
from vault.model.golden import Allowance, Waiver
from vault.model.names import Address
from vault.model.parameters import Parameter
from vault.model.quantities import Physical

TEXT = st.text(max_size=12)
MAYBE = st.none() | TEXT
DECIMALS = st.decimals(allow_nan=False, allow_infinity=False, places=6)
SCALARS = st.integers() | DECIMALS | TEXT
MOMENTS = st.datetimes(datetime(1970, 1, 2), datetime(2099, 1, 1), timezones=st.just(UTC))
PARAMETERS = st.builds(Parameter, TEXT, TEXT, SCALARS, SCALARS, MAYBE, MAYBE, MAYBE)
SIZES = st.builds(Physical, st.fractions(), st.integers(-1, 1), TEXT, TEXT)
CHANGES = st.builds(
    Change,
    kind=st.sampled_from(["changed", "restated", "shifted", "only_left", "only_right"]),
    consequence=TEXT,
    left=st.none() | PARAMETERS,
    right=st.none() | PARAMETERS,
    left_physical=st.none() | SIZES,
    right_physical=st.none() | SIZES,
    difference=st.none() | st.builds(Difference, DECIMALS, st.none() | DECIMALS, MAYBE),
    volatile=st.booleans(),
    group=TEXT,
    explanation=TEXT,
    findings=st.lists(st.builds(Finding, TEXT, TEXT, MAYBE, TEXT), max_size=2).map(tuple),
    cause=MAYBE,
    ratio=st.none() | st.fractions(),
)
ALLOWED = st.sampled_from(["any", "4.5..6 mm", "..6 mm", "5", "Ramp down"]).map(Allowance.parse)
WAIVERS = st.builds(Waiver, TEXT, ALLOWED, TEXT, TEXT, MOMENTS, TEXT)
SENTENCES = st.lists(TEXT, max_size=2).map(tuple)
FLOORS = st.builds(
    UnkeptFloor,
    TEXT,
    DECIMALS,
    st.sampled_from(["below", "untold", "senseless", "no_margin"]),
    TEXT,
    st.none() | st.floats(allow_nan=False),
    st.sampled_from(["exact", "at_least", "up_to", "unknown"]),
    SENTENCES,
)
ASSESSMENTS = st.builds(
    Assessment,
    golden=MAYBE,
    follows=st.none() | st.just(Address("m1", "lift")),
    latest=MAYBE,
    taken_at=st.none() | MOMENTS,
    export_every=st.none() | st.floats(0, 1e9),
    settings=st.lists(st.builds(Deviation, CHANGES, st.none() | WAIVERS), max_size=2).map(tuple),
    causes=SENTENCES,
    hardware=SENTENCES,
    since=st.none() | MOMENTS,
    holds_until=st.none() | MOMENTS,
    floors=st.lists(FLOORS, max_size=2).map(tuple),
)


@given(ASSESSMENTS)
def test_what_is_kept_reads_back_as_it_was(found: Assessment) -> None:
    assert read_assessment(assessment_text(found)) == found


def test_a_decimal_is_no_text_and_no_integer() -> None:
    values = (Decimal("2.50"), "2.50", 2)
    changes = [
        Change("changed", "record", None, Parameter("a", "A", value, value)) for value in values
    ]
    found = Assessment(settings=tuple(map(Deviation, changes)))
    again = read_assessment(assessment_text(found))
    assert again is not None
    sides = [deviation.change.shown.value for deviation in again.settings]
    assert [(type(value), str(value)) for value in sides] == [
        (Decimal, "2.50"),
        (str, "2.50"),
        (int, "2"),
    ]


def test_what_another_version_kept_is_not_read() -> None:
    text = assessment_text(replace(Assessment(), golden="a" * 40))
    assert read_assessment(text.replace('"version":3', '"version":4')) is None
    older = json.dumps({"follows": None, "golden": "a" * 40, "settings": []})
    assert read_assessment(older) is None
