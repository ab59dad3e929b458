"""Text exports on their whole way: dictionary, intake, show, compare, restore, verify.

All families, codes and values are invented.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.store.vault import Vault

Cli = Callable[..., Outcome]

PARAMETERS = """\
parameters:
  Limits/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm, range: [0, 2]}
  Limits/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, scale: 0.1, unit: mm/s}
  Limits/mask: {name: Mask of inputs, type: UNSIGNED16}
"""  # noqa: E501
SETTINGS = "".join(f"  Set/P{n}: {{name: Setting {n}, type: INTEGER16}}\n" for n in range(1, 21))
HEAD = "schema: axisvault/family/1\nname: linden\ntitle: Linden (invented)\nexport:\n"


@dataclass(frozen=True)
class Form:
    """How a family writes: its dictionary, and a text of an export with places for two values."""

    export: str
    text: str
    name: str
    lag: Callable[[str], str] = str


def lines(row: str, section: str) -> str:
    """The twenty settings below their heading."""
    return section + "".join(row.format(f"P{n}", 7 + n) for n in range(1, 21))


FORMS = {
    "delimited": Form(
        "  format: delimited\n  delimiter: ';'\n  decimal: ','\n  unit_in_value: true\n"
        "  hex_and_binary: true\n  section: '[{name}]'\n  comment: '#'\n"
        "  columns: {code: Code, value: Value}\n"
        "  nameplate: {Drive: drive}\n  recognise: {drive: ^LI-}\n",
        "Drive;LI-04\r\nCode;Value\r\n# by hand\r\n[Limits]\r\nlag;LAG\r\nspeed;SPEED\r\n"
        "mask;00FFh\r\n" + lines("{};{}\r\n", "[Set]\r\n"),
        "a.csv",
    ),
    "keyed": Form(
        "  format: keyed\n  decimal: ','\n  unit_in_value: true\n  hex_and_binary: true\n"
        "  section: '[{name}]'\n  comment: ';'\n"
        "  nameplate: {Plate/Drive: drive}\n  recognise: {drive: ^LI-}\n",
        "; written by hand\r\n[Plate]\r\nDrive = LI-04\r\n[Limits]\r\nlag = LAG ; window\r\n"
        "speed = SPEED\r\nmask=00FFh\r\n" + lines("{} = {} ; a setting\r\n", "[Set]\r\n"),
        "a.ini",
    ),
    "fixed": Form(
        "  format: fixed\n  decimal: ','\n  unit_in_value: true\n  hex_and_binary: true\n"
        "  section: '* {name}'\n  comment: '#'\n  header: Code Value Name\n"
        "  columns: {code: 1-8, value: 10-20, name: 22-}\n"
        "  nameplate: {Drive: drive}\n  recognise: {drive: ^LI-}\n",
        "List of parameters\r\nDrive: LI-04\r\nCode     Value       Name\r\n"
        "======== =========== ====\r\n* Limits\r\nlag      LAG Following error window\r\n"
        "speed    SPEED Profile velocity\r\nmask           00FFh Mask\r\n"
        + lines("{:8} {:>11} Setting\r\n", "* Set\r\n"),
        "a.txt",
        lambda text: text.rjust(11),
    ),
}


@pytest.fixture(params=sorted(FORMS))
def form(request: pytest.FixtureRequest) -> Form:
    """One form after the other."""
    return FORMS[request.param]


def export(path: Path, form: Form, lag: str = "1,50 mm", speed: str = "100,0 mm/s") -> Path:
    """Writes an export into a folder."""
    text = form.text.replace("LAG", form.lag(lag)).replace("SPEED", form.lag(speed))
    path.mkdir(exist_ok=True)
    (path / form.name).write_bytes(text.encode())
    return path / form.name


def dictionary(path: Path, form: Form, *changes: tuple[str, str]) -> Path:
    text = HEAD + form.export + PARAMETERS + SETTINGS
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text)
    return path


@pytest.fixture
def plant(vault: Vault, form: Form, tmp_path: Path, cli: Cli) -> Vault:
    """A vault that has the dictionary."""
    added = cli("family", "add", dictionary(tmp_path / "linden.yaml", form))
    assert added.code == 0, added.stderr
    return vault


@pytest.mark.usefixtures("plant")
def test_a_text_export_is_known_taken_in_shown_compared_and_verified(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    for day, lag, speed in ((1, "1,50 mm", "100,0 mm/s"), (2, "1,75 mm", "120,5 mm/s")):
        file = export(tmp_path / str(day), form, lag, speed)
        taken = cli("ingest", file, "--to", "m1/lift", "--taken-at", f"2026-03-0{day}T08:00:00Z")
        assert taken.code == 0, taken.stderr
        assert "23 parameters" in taken.stdout
    assert "120.5 mm/s" in cli("show", "m1/lift").stdout
    shown = cli("show", "m1/lift", "--json").json
    found = {one["code"]: one["raw"] for one in shown["parameters"]}
    assert found["Limits/mask"] == "255"
    told = cli("compare", "m1/lift@2026-03-01", "m1/lift").stdout
    assert "1.5 mm" in told
    assert "1.75 mm" in told
    assert "Setting" not in told
    assert cli("verify").code == 0


@pytest.mark.usefixtures("plant")
def test_what_may_be_loaded_as_it_is_is_loaded_byte_for_byte(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    file = export(tmp_path / "a", form)
    assert cli("ingest", file, "--to", "m1/lift").code == 0
    planned = cli("restore", "plan", "m1/lift", "--out", tmp_path / "plan")
    assert planned.code == 0, planned.stderr
    assert (tmp_path / "plan" / form.name).read_bytes() == file.read_bytes()


@pytest.mark.usefixtures("plant")
def test_a_bad_line_refuses_the_export_with_its_place(form: Form, tmp_path: Path, cli: Cli) -> None:
    file = export(tmp_path / "a", form, lag="1,5O mm")
    refused = cli("ingest", file, "--to", "m1/lift", "--all")
    assert refused.code == 4
    place = next(n for n, t in enumerate(file.read_text().splitlines(), 1) if "1,5O" in t)
    assert f"line {place}" in refused.stderr
    assert "is not a number" in refused.stderr


def planned(cli: Cli, folder: Path, form: Form, *more: str) -> bytes:
    """The load file of a plan that is made for the axis."""
    made = cli("restore", "plan", "m1/lift", "--out", folder, *more)
    assert made.code == 0, made.stderr
    (loaded,) = folder.glob(f"*-load.{form.name.rpartition('.')[2]}")
    return loaded.read_bytes()


@pytest.mark.usefixtures("vault")
def test_what_may_not_be_loaded_is_taken_out_and_what_is_adapted_put_in(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    safe = ("name: Mask of inputs,", "name: Safe mask, safety: true,")
    assert cli("family", "add", dictionary(tmp_path / "linden.yaml", form, safe)).code == 0
    file = export(tmp_path / "a", form, lag="2,50 mm")
    assert cli("ingest", file, "--to", "m1/lift").code == 0
    loaded = planned(cli, tmp_path / "plan", form, "--adapt")
    assert b"mask" not in loaded
    if form.name == "a.csv":  # written anew, in the order of loading
        assert b"lag;2 mm" in loaded
    else:
        kept = [line for line in file.read_bytes().splitlines(True) if b"mask" not in line]
        assert loaded == b"".join(kept).replace(b"2,50 mm", b"2,00 mm")


@pytest.mark.usefixtures("plant")
def test_a_drive_of_another_family_gets_a_file_that_is_written_anew(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    assert cli("ingest", export(tmp_path / "a", form), "--to", "m1/lift").code == 0
    changes = (("name: linden", "name: aspen"), ("^LI-", "^AS-"))
    assert cli("family", "add", dictionary(tmp_path / "aspen.yaml", form, *changes)).code == 0
    made = cli("restore", "plan", "m1/lift", "--out", tmp_path / "plan", "--onto", "aspen")
    assert made.code == 0, made.stderr
    (loaded,) = (tmp_path / "plan").glob("*-load.*")
    assert loaded.suffix == (".csv" if form.name == "a.csv" else ".txt")
    said = loaded.read_text(encoding="utf-8")
    assert "1.5 mm".replace(".", ",") in said
    assert "100 mm/s" in said


@pytest.mark.usefixtures("plant")
def test_an_export_that_ends_within_its_last_line_is_told(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    file = export(tmp_path / "a", form)
    file.write_bytes(file.read_bytes().rstrip())
    taken = cli("ingest", file, "--to", "m1/lift")
    assert "the last line has no line end: it may be cut off in it" in taken.stderr + taken.stdout


@pytest.mark.usefixtures("plant")
def test_an_export_that_lost_lines_against_the_one_before_is_refused(
    form: Form, tmp_path: Path, cli: Cli
) -> None:
    assert cli("ingest", export(tmp_path / "a", form), "--to", "m1/lift").code == 0
    file = export(tmp_path / "b", form, speed="90,0 mm/s")
    file.write_bytes(b"".join(file.read_bytes().splitlines(True)[:-8]))
    taken = cli("ingest", file, "--to", "m1/lift")
    assert taken.code != 0
    assert "8" in taken.stderr
