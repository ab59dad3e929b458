"""Words in the place of a unit that are none make no difference. Invented data."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.store.vault import Vault

Cli = Callable[..., Outcome]


@pytest.fixture
def compared(
    vault: Vault, cli: Cli, tmp_path: Path, export_text: Callable[..., str]
) -> Callable[[str, str], Outcome]:
    """Takes two exports in that write other units for a setting, and compares them."""

    def run(first: str, then: str) -> Outcome:
        vault.close()
        for day, text in ((1, first), (2, then)):
            (tmp_path / "lift.csv").write_text(text)
            when = f"2026-03-0{day}T08:00:00Z"
            done = cli("ingest", "lift.csv", "--to", "m1/lift", "--taken-at", when)
            assert done.code == 0, done.stderr
        return cli("compare", "m1/lift@previous", "m1/lift", "--json")

    return run


@pytest.mark.parametrize("turned", [False, True])
@pytest.mark.parametrize("word", ["N/A", "what-ever"])
def test_a_word_that_is_no_unit_is_no_change(
    compared: Callable[[str, str], Outcome],
    export_text: Callable[..., str],
    word: str,
    turned: bool,
) -> None:
    plain = export_text()
    worded = plain.replace("Homing method;1;", f"Homing method;1;{word}")
    assert worded != plain
    done = compared(*((worded, plain) if turned else (plain, worded)))
    assert done.json["changes"] == []
    assert done.json["summary"]["travel"] == 0


def test_another_value_is_a_change_all_the_same(
    compared: Callable[[str, str], Outcome], export_text: Callable[..., str]
) -> None:
    worded = export_text(way="2").replace("Homing method;2;", "Homing method;2;N/A")
    (change,) = compared(export_text(), worded).json["changes"]
    assert change["code"] == "ref/way"


def test_two_words_for_a_unit_are_a_change_of_what_is_not_known(
    compared: Callable[[str, str], Outcome], export_text: Callable[..., str]
) -> None:
    one, other = (
        export_text().replace("Setting 1;8;", f"Setting 1;8;{unit}") for unit in ("zorks", "quorks")
    )
    (change,) = compared(one, other).json["changes"]
    assert change["code"] == "set/1"
