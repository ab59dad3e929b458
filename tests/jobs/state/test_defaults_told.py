"""A value that is only the file's default is told as that, and never as set. Invented objects."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from tests.dcf_texts import dcf
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
NOT_STATED = "5 user units is the file's default and not stated of the drive."
WINDOW = (
    "[6065]\nParameterName=Following error window\nDataType=0x0007\nAccessType=rw\nDefaultValue=5\n"
)
SPEED = (
    "[6081]\nParameterName=Profile velocity\nDataType=0x0007\nAccessType=rw\n"
    "DefaultValue=5\nParameterValue=700\n"
)
STATED, BY_FILE = f"{WINDOW}ParameterValue=4000\n", WINDOW


@pytest.fixture
def axes(vault: Vault, cli: Cli, tmp_path: Path) -> Cli:
    """m1/lift: its window stated, then a default; m2/lift the other way round."""
    vault.close()
    days = iter(range(1, 9))
    for axis, windows in (("m1/lift", (STATED, BY_FILE)), ("m2/lift", (BY_FILE, STATED))):
        for window in windows:
            (tmp_path / "lift.dcf").write_text(dcf(window, SPEED))
            when = f"2026-03-0{next(days)}T08:00:00Z"
            done = cli("ingest", "lift.dcf", "--to", axis, "--taken-at", when)
            assert done.code == 0, done.stderr
    return cli


def one_line(done: Outcome) -> str:
    return " ".join(done.stdout.split())


def test_a_default_after_a_value_is_no_change_of_the_drive(axes: Cli) -> None:
    told = one_line(axes("compare", "m1/lift@previous", "m1/lift"))
    assert f"Following error window: 4,000 user units before; {NOT_STATED}" in told
    assert "became" not in told
    assert "trip" not in told
    found = axes("compare", "m1/lift@previous", "m1/lift", "--json").json
    (change,) = found["changes"]
    assert (change["left"]["stated"], change["right"]["stated"]) == ("drive", "default")
    assert change["findings"] == []


def test_a_value_after_a_default_was_not_set_by_that(axes: Cli) -> None:
    found = axes("compare", "m2/lift@previous", "m2/lift", "--json").json
    (change,) = found["changes"]
    assert (change["left"]["stated"], change["right"]["stated"]) == ("default", "drive")
    assert change["explanation"] == (
        "Following error window: 4,000 user units now; 5 user units before is the file's default "
        "and not stated of the drive."
    )


def test_two_axes_are_told_by_their_names(axes: Cli) -> None:
    (change,) = axes("compare", "m1/lift", "m2/lift", "--json").json["changes"]
    assert change["explanation"] == (
        "Following error window: 4,000 user units on m2; 5 user units on m1 is the file's default "
        "and not stated of the drive."
    )


@pytest.mark.parametrize(
    "words",
    [
        ("history", "m1/lift"),
        ("history", "m1/lift", "--parameter", "0x6065:00"),
        ("find", "0x6065:00"),
        ("spread", "*/lift"),
        ("audit", "m1/lift", "--from", "2026-03-01"),
    ],
)
def test_wherever_it_is_shown_it_is_the_file_s_default(axes: Cli, words: tuple[str, ...]) -> None:
    assert "the file's default" in one_line(axes(*words))


def test_what_is_not_plausible_says_whose_value_it_is(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    vault.close()
    low, high = (
        f"[607Dsub{n}]\nParameterName={name} limit\nDataType=0x0004\nAccessType=rw\n"
        for n, name in ((1, "Lower"), (2, "Upper"))
    )
    head = "[607D]\nParameterName=Software position limit\nObjectType=0x8\nSubNumber=2\n"
    text = f"{head}{low}DefaultValue=900\n{high}DefaultValue=0\nParameterValue=100\n"
    (tmp_path / "lift.dcf").write_text(dcf(text, SPEED))
    assert cli("ingest", "lift.dcf", "--to", "m1/lift").code == 0
    told = one_line(cli("check", "m1/lift"))
    assert "0x607D:01 is the file's default and not stated of the drive." in told
