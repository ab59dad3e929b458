"""Which roles a person must confirm: all that the rest of the program may call a hazard."""

from __future__ import annotations

import inspect
import re

import pytest

from tests.behaviour.axes import AXES, axis
from tests.behaviour.test_classes import ROWS
from tests.conftest import ROOT
from vault.behaviour.behave import margins_of
from vault.jobs.families.hazard_roles import needs_confirmation, stake
from vault.meaning.explainers import registered
from vault.meaning.protections import PROTECTIONS
from vault.model import roles
from vault.model.protecting_roles import protects

MARGINS = (ROOT / "vault/manual/margins.md").read_text("utf-8")


def lacking(names: set[str]) -> set[str]:
    """Roles among some names that would be accepted unasked."""
    return {name for name in names if roles.find(name) and not needs_confirmation(name)}


def test_whatever_protects_needs_it() -> None:
    assert lacking({role.name for role in roles.all_roles() if protects(role.name)}) == set()
    assert lacking(set(PROTECTIONS)) == set()


def test_whatever_an_explainer_may_call_a_hazard_needs_it() -> None:
    may = {name for name, of in registered().items() if '"hazard"' in inspect.getsource(of)}
    assert len(may) > 50
    assert lacking(may) == set()


def test_whatever_a_margin_that_protects_rests_on_needs_it() -> None:
    sections = re.split(r"^### ", MARGINS, flags=re.MULTILINE)[1:]
    named = {
        name
        for section in sections
        if re.search(r"\bprotects\b", section)
        for name in re.findall(r"`(\w+)`", section)
    }
    asked = {
        name
        for each in AXES
        for margin in margins_of(axis(each).state).values()
        if margin.kind == "protects"
        for name in (*margin.rests_on, *margin.missing)
    }
    assert "position_gain" in named & asked
    assert lacking(named | asked) == set()


def test_whatever_practitioners_call_a_hazard_needs_it() -> None:
    rows = [row for row in ROWS if row["class"] == "hazard"]
    assert lacking({role for row in rows for role in row["change"]}) == set()


@pytest.mark.parametrize("role", ["digital_input_function.3", "position_gain.2", "safety_checksum"])
def test_a_numbered_one_is_as_the_first_and_safety_always_needs_it(role: str) -> None:
    assert needs_confirmation(role)


@pytest.mark.parametrize(
    "role", ["serial_number", "torque_slope", "dc_link_voltage", "digital_inputs"]
)
def test_what_hurts_nobody_does_not(role: str) -> None:
    assert not needs_confirmation(role)


def test_more_is_at_stake_with_a_hazard_than_with_any_other_role() -> None:
    other = [stake(r.name) for r in roles.all_roles() if not needs_confirmation(r.name)]
    asked = [stake(r.name) for r in roles.all_roles() if needs_confirmation(r.name)]
    assert 1 <= min(other) <= max(other) < min(asked)
    assert stake("safe_limited_speed") > stake("brake_used") > stake("home_offset")
