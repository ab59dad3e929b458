"""What commands print about numbers of things reads right for none, one and two of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Export = Callable[..., str]
PASSWORD = "plum tea on the loom"


@pytest.mark.parametrize(
    ("lag", "speed", "place", "words"),
    [
        ("2,5", "100", "0", "0 differ, 24 are equal."),
        ("9", "100", "0", "1 differs: 1 hazard (!!); 23 are equal."),
        ("9", "400", "0", "2 differ: 1 hazard (!!), 1 dynamics (~~); 22 are equal."),
        ("9", "100", "4", "1 differs: 1 hazard (!!); 22 are equal, 1 live value; --all shows"),
    ],
)
def test_a_comparison_counts_what_differs(
    vault: Vault, take: Take, export_text: Export, cli: Cli,
    lag: str, speed: str, place: str, words: str,
) -> None:  # fmt: skip
    take(export_text("2,5", "100"))
    take(export_text(lag, speed, place=place), "2026-03-02", name="b.csv")
    assert words in cli("compare", "m1/lift@first", "m1/lift").stdout


@pytest.mark.parametrize(
    ("lag", "others"),
    [("2,5", "0 other differences have nothing"), ("9", "1 other difference has nothing")],
)
def test_the_rest_beside_the_suspects_of_a_fault_is_counted(
    vault: Vault, take: Take, export_text: Export, cli: Cli, lag: str, others: str
) -> None:
    take(export_text("2,5", way="1"))
    take(export_text(lag, way="1"), "2026-03-02", name="b.csv")
    assert others in cli("compare", "m1/lift@first", "m1/lift", "--fault", "3210h").stdout


@pytest.mark.parametrize(
    ("axes", "taken", "verified"),
    [
        (1, "Took in 1 export of 1 axis.", "1 snapshot: everything is as it was recorded."),
        (2, "Took in 2 exports of 2 axes.", "2 snapshots: everything is as it was recorded."),
    ],
)
def test_exports_axes_and_snapshots_are_counted(
    vault: Vault, export_text: Export, cli: Cli, tmp_path: Path, axes: int, taken: str,
    verified: str,
) -> None:  # fmt: skip
    for number in range(axes):
        folder = tmp_path / f"tree/m1/a{number}"
        folder.mkdir(parents=True)
        (folder / "x.csv").write_text(export_text(saved="2026-03-01T08:00:00Z"))
    assert taken in cli("ingest-tree", "tree", "--by", "Mira Okafor").stdout
    assert verified in cli("verify").stdout
    assert cli("reindex").stdout == f"The index shows {verified.partition(':')[0]}.\n"


@pytest.mark.parametrize(("role", "words"), [("reader", "a reader"), ("approver", "an approver")])
def test_an_account_is_called_by_its_role_with_the_right_article(
    vault: Vault, cli: Cli, tmp_path: Path, role: str, words: str
) -> None:
    (tmp_path / "password").write_text(PASSWORD)
    told = cli(
        "user", "add", "mira", "--person", "Mira Okafor", "--role", role,
        "--password-file", "password",
    ).stdout  # fmt: skip
    assert told.endswith(f" is {words}.\n")


def test_a_parameter_over_time_says_under_a_heading_of_its_own_what_became_of_it(
    vault: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text("2,5"))
    take(export_text("9"), "2026-03-02", name="b.csv")
    heading, first, second = cli("history", "m1/lift", "--parameter", "lim/lag").stdout.splitlines()
    column = heading.index("what became of it")
    assert first[column:].startswith("  ")
    assert second[column:].startswith("changed ")
