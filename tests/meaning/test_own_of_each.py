"""What two axes have each for itself."""

import pytest

from vault.meaning.changes import Change, Surrounding
from vault.meaning.explainers import OWN_OF_EACH
from vault.meaning.own_of_each import is_own_of_each, is_own_place, own_of_each_text
from vault.model.parameters import Parameter

# Invented parameters.


def change(role: str, consequence: str = "travel", kind: str = "changed") -> Change:
    left, right = (Parameter("a", "Thing", raw, raw, role, None, None) for raw in (1, 2))
    said = f"Thing: 1 on x, 2 on y. {OWN_OF_EACH}"
    return Change(kind, consequence, left, right, explanation=said)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "own"),
    [
        (change("home_offset"), True),
        (change("station_alias", "link"), True),
        (change("home_offset", "hazard"), False),
        (change("home_offset", kind="only_left"), False),
        (change("motor_pole_pairs"), False),  # twins have these alike
        (change("encoder_direction"), False),
        (change("position_gain"), False),
    ],
)
def test_an_offset_or_address_is_own_and_what_twins_have_alike_is_not(
    one: Change, own: bool
) -> None:
    assert is_own_of_each(one) is own


def test_beside_the_parameters_addresses_and_serials_are_own_and_firmware_is_not() -> None:
    paths = ["nameplate.serial", "cabinet.address_switches", "nameplate.firmware", "brake.code"]
    assert [is_own_place(Surrounding(path, 1, 2)) for path in paths] == [True, True, False, False]
    assert not is_own_place(Surrounding("nameplate.node_id", 1, 2, "hazard"))


def test_they_are_told_by_name() -> None:
    text = own_of_each_text([change("home_offset")], [Surrounding("nameplate.node_id", 1, 2)])
    assert text == "Each axis has its own, not to be carried over: Thing; nameplate, node id"
    assert own_of_each_text([], []) == ""
