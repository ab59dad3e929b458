"""The page of the first export, followed to the letter with invented exports."""

import re
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

PAGE = (Path(__file__).parents[2] / "vault/manual/first-export.md").read_text(encoding="utf-8")
(STEPS,) = re.findall(r"```\n(axisvault family draft.*?)```", PAGE, re.DOTALL)
SAID = re.findall(r"`(axisvault [^`]+)`", PAGE.replace("\n", " "))
EXPORT = """\
Gerät: QX-20;;;
Nr.;Bezeichnung;Wert;Einheit
P1;Schleppfehlergrenze;{lag};mm
P2;Drehzahlregler Verstärkung;0,5;
P3;Motorhaltebremse vorhanden;Ja;
P4;Istdrehzahl;{speed};1/min
"""


@pytest.fixture
def exports(vault: Vault, tmp_path: Path) -> Path:
    for name, lag, speed in (("lift", "2,5", "1.000"), ("feed", "3,0", "950,5")):
        text = EXPORT.format(lag=lag, speed=speed)
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    return tmp_path


def test_its_commands_take_an_unknown_export_in(
    vault: Vault, exports: Path, cli: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(exports)
    for line in STEPS.strip().splitlines():
        words = shlex.split(line)[1:]
        done = cli(*words, *(["--taken-at", "2026-03-01"] if words[0] == "ingest" else []))
        assert done.code == 0, (line, done.stderr)
    vault.refresh()
    found = resolve(vault, "line-1/lift").parameters
    lag, speed, brake = found["P1"], found["P4"], found["P3"]
    assert (str(lag.value), lag.unit, lag.role) == ("2.5", "mm", None)  # it waits for a person
    assert (str(speed.value), speed.unit) == ("1000", "r/min")
    assert (brake.raw, brake.label) == (1, "Ja")


def test_an_export_that_nobody_knows_names_the_next_command(
    vault: Vault, exports: Path, cli: Callable[..., Outcome]
) -> None:
    done = cli("ingest", exports / "lift.csv", "--to", "line-1/lift")
    assert done.code == 2
    assert "axisvault family draft FILE --name NAME" in done.stderr


def test_every_command_that_it_names_is_one(cli: Callable[..., Outcome]) -> None:
    for line in SAID:
        words = [word for word in shlex.split(line.partition(" > ")[0])[1:] if word.islower()]
        names = words[:2] if words[0] in ("family", "axis") else words[:1]
        assert cli(*names, "--help").code == 0, line


def test_the_draft_names_the_command_by_which_a_role_is_confirmed(
    vault: Vault, exports: Path, cli: Callable[..., Outcome], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(exports)
    drafted = cli("family", "draft", "lift.csv", "--name", "oak", "--out", "oak.yaml").stdout
    (line,) = re.findall(r"bears a role out: axisvault (family confirm [^\n]+)", drafted)
    assert cli("family", "add", "oak.yaml").code == 0
    assert cli(*shlex.split(line)).code == 0
    vault.refresh()
    parameters = vault.family_file("oak").family.parameters
    code, _, role = shlex.split(line)[-1].partition("=")
    assert parameters[code].role == role
