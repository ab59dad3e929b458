"""`family roles`: every role, and those that a word fits."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.conftest import Outcome
from vault.jobs.families.roles import list_roles
from vault.model import roles
from vault.model.errors import WrongUsage

Cli = Callable[..., Outcome]


def test_without_a_word_every_role_is_listed_in_groups() -> None:
    found = list_roles()
    assert {entry.role.name for entry in found} == {role.name for role in roles.all_roles()}
    order = [name for name, _ in roles.GROUPS]
    places = [order.index(entry.role.group) for entry in found]
    assert places == sorted(places)


@pytest.mark.parametrize(
    ("word", "role"),
    [
        ("following_error_window", "following_error_window"),
        ("position_gain.2", "position_gain"),
        ("6065", "following_error_window"),
        ("Schleppfehler", "following_error_time_out"),
        ("schleppfehlergrenze", "following_error_window"),
        ("Ruecklauframpe", "deceleration_time"),
        ("closing time of the brake", "brake_apply_delay"),
        ("Fenster des Schleppfehlers", "following_error_window"),
        ("Holding bra", "brake_used"),
    ],
)
def test_a_word_finds_a_role_by_name_title_object_or_what_it_goes_by(word: str, role: str) -> None:
    assert role in {entry.role.name for entry in list_roles(word)}


def test_a_role_by_its_name_is_found_alone() -> None:
    assert [entry.role.name for entry in list_roles("max_torque")] == ["max_torque"]


def test_what_fits_nothing_is_refused_with_what_may_have_been_meant() -> None:
    with pytest.raises(WrongUsage, match="no role goes by 'paswrd'; did you mean password"):
        list_roles("paswrd")
    with pytest.raises(WrongUsage, match="no role goes by 'xyzzy' "):
        list_roles("xyzzy")


def test_a_role_is_shown_with_what_it_means_and_goes_by(cli: Cli) -> None:
    shown = cli("family", "roles", "halt_option_code").stdout
    assert "Halt reaction" in shown
    assert "object 0x605D:00" in shown
    assert "2 Stop on the quick-stop ramp, then hold with power on" in " ".join(shown.split())
    assert "Haltreaktion" in shown
    assert "a change of it can be a hazard" in shown


def test_all_of_them_are_shown_a_line_each(cli: Cli) -> None:
    lines = cli("family", "roles").stdout.splitlines()
    assert sum(line.split()[:1] == ["jog_velocity"] for line in lines) == 1
    assert "Holding brake" in lines


def test_the_document_has_the_names_by_language(cli: Cli) -> None:
    document = json.loads(cli("family", "roles", "6065", "--json").stdout)
    (role,) = document["roles"]
    assert document["word"] == "6065"
    assert (role["role"], role["object"], role["confirm"]) == (
        "following_error_window", "0x6065:00", True,
    )  # fmt: skip
    assert "Schleppfehlerfenster" in role["names"]["de"]
    assert role["choices"] == {}
