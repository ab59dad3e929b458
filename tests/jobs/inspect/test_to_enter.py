"""What must be entered before margins can be told: grouped, with what will be asked for later."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from vault.jobs.inspect.margins import AxisMargins, axis_margins
from vault.jobs.inspect.to_enter import asked_later, wanted
from vault.jobs.records.axis_template import examples
from vault.jobs.records.edit import set_axis
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
HEAD = "schema: axisvault/axis/1\n"
EXPORT = Path(example).parent / "exports/glaze-line-1/lift/2025-11-18-as-left.dcf"
RAM = Address("press", "ram")


def text_of(done: Outcome) -> str:
    """What was printed, lines joined."""
    return " ".join(done.stdout.split())


@pytest.fixture
def bare(vault: Vault, cli: Cli) -> Iterator[Vault]:
    """An axis without a record whose export has no dictionary."""
    assert cli("ingest", EXPORT, "--to", RAM).code == 0
    vault.refresh()
    yield vault


def found(vault: Vault) -> AxisMargins:
    """The margins of that axis."""
    return axis_margins(resolve(vault, str(RAM)))


def record(vault: Vault, tmp_path: Path, text: str) -> None:
    """Enter its record."""
    file = tmp_path / "ram.yaml"
    file.write_text(HEAD + text)
    set_axis(vault, RAM, file, BY)


def test_what_is_missing_is_told_once_with_all_that_waits_for_it(bare: Vault, cli: Cli) -> None:
    first = wanted(found(bare))[0]
    assert [one.name for one in first.enter] == ["mechanics.kind"]
    assert len(first.rows) > 10
    said = text_of(cli("margins", RAM))
    assert f"linear motor): {len(first.rows)} margins wait for it hold, " in said
    assert said.count("mechanics.kind") == 1
    assert "Missing:" not in said


def test_everything_that_is_asked_for_later_is_told_at_once(bare: Vault, tmp_path: Path) -> None:
    """One who enters what the form has meets no key that was not named in the first round."""
    named = {*found(bare).missing, *asked_later(found(bare))}
    values, entered = examples(), dict[str, dict[str, object]]()
    for _ in range(9):
        asked = [name for name in found(bare).missing if name in values]
        assert set(asked) <= named
        if not asked:
            break
        for name in asked:
            section, _, key = name.partition(".")
            if key:
                entered.setdefault(section, {})[key] = values[name]
        lines = [f"{s}: {{{', '.join(f'{k}: {v}' for k, v in e.items())}}}\n" for s, e in
                 entered.items()]  # fmt: skip
        duty = "duty: {rms_force: 1 N*m}\n" if "duty" in asked else ""
        record(bare, tmp_path, "".join(lines) + duty)
    assert {"mechanics.lead", "mechanics.gearbox", "mechanics.moving_mass", "motor.inertia"} < named


def test_nothing_is_supposed_that_the_record_says(bare: Vault, cli: Cli, tmp_path: Path) -> None:
    record(bare, tmp_path, "mechanics: {kind: belt, orientation: horizontal}\n")
    assert "mechanics.gearbox" not in found(bare).missing
    assert "brake.apply_time" not in asked_later(found(bare))
    said = text_of(cli("margins", RAM))
    assert "After that: " in said
    assert "a screw that hangs" not in said


def test_a_parameter_is_asked_for_by_what_a_dictionary_says_of_it(
    bare: Vault, cli: Cli, tmp_path: Path
) -> None:
    said = text_of(cli("margins", RAM))
    assert "by the role: position_gain (0x2200:01 Position gain may be it)." in said
    assert "Next: write the dictionary FILE, axisvault family add FILE, then ingest" in said


def test_the_step_that_is_told_works(bare: Vault, cli: Cli, tmp_path: Path) -> None:
    dictionary = tmp_path / "mine.yaml"
    dictionary.write_text(
        "schema: axisvault/family/1\nname: mine\ntitle: Mine (invented)\n"
        "export: {format: dcf, holds: raw, nameplate: {DeviceInfo.OrderCode: drive},"
        " recognise: {drive: ^ALD-}}\nparameters:\n"
        '  "0x2200:01": {name: Position gain, role: position_gain, type: UNSIGNED16, scale: 0.1,'
        " unit: 1/s}\n"
    )
    assert cli("family", "add", dictionary).code == 0
    assert cli("ingest", EXPORT, "--to", RAM).code == 0
    bare.refresh()
    assert "position_gain" not in found(bare).missing
