"""What may differ after a restore, on files that describe themselves. Invented data."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.conftest import Take
from vault.jobs.restore.verdict import LeftOver, hold_against
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

OBJECT = "[{}]\nParameterName={}\nDataType=0x0007\nAccessType=rw\n{}ParameterValue={}\n"
WINDOW = OBJECT.format("6065", "Following error window", "", 6)
TUNING = OBJECT.format("2010", "Tuning", "", 7)
OTHER = OBJECT.format("2011", "Other", "", 8)


def software(version: str) -> str:
    return (
        "[100A]\nParameterName=Software version\nDataType=0x0009\nAccessType=ro\n"
        f"ParameterValue={version}\n"
    )


@pytest.fixture
def left_over(vault: Vault, take: Take) -> Callable[[str, str], LeftOver]:
    """Holds a state against a target."""

    def of(target: str, left: str) -> LeftOver:
        for day, text in ((1, target), (2, left)):
            take(text, f"2026-03-0{day}", name="lift.dcf", override_reason="a part is missing")
        return hold_against(resolve(vault, "m1/lift@first"), resolve(vault, "m1/lift"))

    return of


def codes(found: LeftOver) -> tuple[list[str], list[str]]:
    """Codes of differences, and of what is ignored."""
    return (
        [(one.change.left or one.change.shown).code for one in found.differences],
        [one.change.shown.code for one in found.ignored if one.change.shown.code != "0x100A:00"],
    )


Hold = Callable[[str, str], LeftOver]


def test_another_firmware_may_lack_a_setting_but_none_that_protects(left_over: Hold) -> None:
    found = left_over(software("1.0") + WINDOW + TUNING + OTHER, software("2.0") + OTHER)
    assert codes(found) == (["0x6065:00"], ["0x2010:00"])
    reasons = [one.reason for one in found.ignored if one.change.shown.code == "0x2010:00"]
    assert reasons == ["the firmware has no such setting"]


def test_the_same_firmware_has_every_setting_of_before(left_over: Hold) -> None:
    found = left_over(software("1.0") + TUNING + OTHER, software("1.0") + OTHER)
    assert codes(found) == (["0x2010:00"], [])


def test_a_firmware_that_nobody_knows_is_no_other(left_over: Hold) -> None:
    assert codes(left_over(TUNING + OTHER, software("2.0") + OTHER))[0] == ["0x2010:00"]


@pytest.mark.parametrize(("value", "is_open"), [(5, False), (6, True)])
def test_what_the_target_does_not_tell_may_stand_as_delivered_and_no_other_way(
    left_over: Hold, value: int, is_open: bool
) -> None:
    beside = OBJECT.format("2012", "Beside", "DefaultValue=5\n", value)
    found = left_over(TUNING + OTHER, TUNING + OTHER + beside)
    assert codes(found) == ((["0x2012:00"], []) if is_open else ([], ["0x2012:00"]))
    if is_open:
        assert found.differences[0].to_do.endswith("As delivered it is 5.")


def test_what_has_no_default_never_stands_as_delivered(left_over: Hold) -> None:
    beside = OBJECT.format("2012", "Beside", "", 0)
    assert codes(left_over(TUNING + OTHER, TUNING + OTHER + beside))[0] == ["0x2012:00"]
