"""Whether two states are of one axis, and what two axes must not have alike."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome, Take
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Export = Callable[..., str]
LIFT = "glaze-line-2/lift"
EXPORT = "example_machines/exports/glaze-line-2/lift"


def fresh(plant: Vault, folder: Path, *edits: tuple[bytes, bytes]) -> Path:
    """The newest export of the lift with other values, as somebody just read it off."""
    state = resolve(plant, LIFT)
    content = state.export_content()
    for old, new in edits:
        assert content.count(old) >= 1, old
        content = content.replace(old, new)
    path = folder / "fresh.dcf"
    path.write_bytes(content)
    return path


def test_a_fresh_export_of_a_drive_is_compared_as_that_axis(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    path = fresh(plant, tmp_path, (b"ParameterValue=121050", b"ParameterValue=999999"))
    told = " ".join(cli("compare", LIFT, f"file:{path}").stdout.split())
    assert "Home offset: 121.05 mm became 1,000 mm" in told
    assert "Each axis has its own" not in told
    assert "(!!)" in told


def test_an_export_of_another_drive_tells_every_row(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("2,5", serial="S-1"))
    for serial, is_one in (("S-1", True), ("S-2", False), ("", False)):
        path = tmp_path / f"of{serial}.csv"
        path.write_text(export_text("3,5", serial=serial))
        compared = compare_states(resolve(vault, "m1/lift"), resolve(vault, f"file:{path}"))
        assert (compared.sides is None) is is_one


def test_what_each_axis_has_is_folded_only_of_two_axes_of_the_vault(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    twin = "glaze-line-1/lift"
    path = fresh(plant, tmp_path)
    assert "Each axis has its own, not to be" in cli("compare", twin, LIFT).stdout
    told = " ".join(cli("compare", twin, f"file:{path}").stdout.split())
    assert "Home offset: 118.4 mm on" in told


def test_an_address_that_two_axes_share_is_told_though_nothing_differs(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path, cli: Cli
) -> None:
    text = family_text.replace(
        "set/1: {name: Setting 1,", "set/1: {name: Setting 1, role: safety_address,"
    )
    (tmp_path / "hazel.yaml").write_text(text)
    assert cli("family", "add", tmp_path / "hazel.yaml").code == 0
    take(export_text(serial="S-1"), to="m1/lift", name="a.csv")
    take(export_text("3,5", serial="S-2"), to="m1/feed", name="b.csv")
    take(export_text("3,5", serial="S-3"), to="m2/feed", name="c.csv")
    told = cli("compare", "m1/lift", "m1/feed").stdout
    assert "!! Both have the safety address, 8: on one bus, one of them is wrong." in told
    assert "Both have" not in cli("compare", "m1/lift", "m2/feed").stdout
    assert "m1/feed has the same safety address, 8" in cli("check", "m1/lift").stdout


@pytest.mark.parametrize("kept", ["%", "mm"])
def test_a_difference_of_percentages_is_in_points(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path, cli: Cli,
    kept: str,
) -> None:  # fmt: skip
    unit = "percent" if kept == "%" else kept
    text = family_text.replace("Setting 1, type", f"Setting 1, unit: {unit}, type")
    (tmp_path / "hazel.yaml").write_text(text)
    assert cli("family", "add", tmp_path / "hazel.yaml").code == 0
    take(export_text(settings=299))
    take(export_text(settings=199), "2026-03-02", name="b.csv")
    told = cli("compare", "m1/lift@first", "m1/lift").stdout
    share = "-100 points" if kept == "%" else "-100 mm, -33.3 %"
    assert f"Setting 1: 300 {kept} became 200 {kept} ({share})" in told
