"""A dictionary at the door: what is refused, and what goes on reading with a remark. Invented."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome
from vault.jobs.records.edit import add_family, list_families, set_axis
from vault.model.errors import Unreadable, VaultError
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.vault_format import format_of
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
ARCHIVE = Path(__file__).parents[2] / "old_vaults/format_1.tar.xz"
WRONG = """\
schema: axisvault/family/1
name: holly
title: Holly drives (invented)
export: {format: delimited, columns: {code: Code, value: Value}}
parameters:
  A1: {name: Homing method, role: homing_method, type: VISIBLE_STRING}
  A2: {name: Flow, group: moton}
"""
RIGHT = WRONG.replace("VISIBLE_STRING", "INTEGER8").replace("moton", "motion")


@pytest.fixture
def dictionary(tmp_path: Path) -> Callable[[str], Path]:
    def write(text: str) -> Path:
        path = tmp_path / "holly.yaml"
        path.write_text(text)
        return path

    return write


def test_what_is_dubious_is_refused_with_line_key_and_what_was_meant(
    vault: Vault, cli: Cli, dictionary: Callable[[str], Path]
) -> None:
    done = cli("family", "add", dictionary(WRONG), "--json")
    assert done.code == 4
    error = done.json["error"]
    assert error["line"] == 6
    assert error["message"].startswith("parameters.A1.type: a choice (homing_method) cannot be")
    assert "did you mean INTEGER8?" in error["message"]
    assert error["message"].endswith("(and 1 more problem)")
    assert [(p["line"], p["text"]) for p in error["problems"]] == [
        (6, "parameters.A1.type"), (7, "parameters.A2.group"),
    ]  # fmt: skip
    assert "did you mean motion?" in error["problems"][1]["reason"]
    vault.refresh()
    assert vault.family_names() == ["hazel"]


def test_a_right_one_is_added_under_its_name(
    vault: Vault, cli: Cli, dictionary: Callable[[str], Path]
) -> None:
    done = cli("family", "add", dictionary(RIGHT))
    assert (done.code, done.stdout) == (0, "Family holly is in the vault.\n")
    assert cli("family", "add", dictionary(RIGHT), "--json").json["family"] == "holly"


def test_a_group_of_its_own_is_declared_and_shown_by_its_title(
    vault: Vault, cli: Cli, dictionary: Callable[[str], Path], tmp_path: Path
) -> None:
    text = RIGHT.replace("group: motion", "group: cooling").replace(
        "parameters:", "groups: {cooling: Cooling water}\nparameters:"
    )
    assert cli("family", "add", dictionary(text)).code == 0
    export = tmp_path / "pump.csv"
    export.write_text("Code,Value\nA1,1\nA2,3\n")
    done = cli("ingest", export, "--to", "m1/pump", "--family", "holly", "--taken-at", "now")
    assert done.code == 0, done.stderr
    assert "\nCooling water\n" in cli("show", "m1/pump").stdout
    page = create_app(tmp_path / "plant", is_local=True).test_client()
    assert "<h2>Cooling water</h2>" in page.get("/axis/m1/pump/at/latest").text


@pytest.fixture
def old(vault: Vault) -> Vault:
    """A vault that took the wrong one in before anybody looked at that."""
    vault.write_files({layout.family_file("holly"): WRONG.encode()}, "Family holly\n", BY)
    return vault


def test_one_that_lies_in_the_vault_goes_on_reading(old: Vault, cli: Cli, tmp_path: Path) -> None:
    export = tmp_path / "pump.csv"
    export.write_text("Code,Value\nA1,homes\nA2,3\n")
    done = cli("ingest", export, "--to", "m1/pump", "--family", "holly", "--taken-at", "now")
    assert done.code == 0, done.stderr
    assert "\nMoton\n" in cli("show", "m1/pump").stdout  # on its page, whatever its group
    assert cli("verify").code == 0


def test_list_and_show_remark_what_is_to_be_put_right(old: Vault, cli: Cli) -> None:
    listed = cli("family", "list").stdout
    assert "Note: holly.yaml, line 6: parameters.A1.type: a choice" in listed
    assert "Note: hazel" not in listed
    by_name = {one["name"]: one for one in cli("family", "list", "--json").json["families"]}
    assert by_name["hazel"]["remarks"] == []
    assert [remark["line"] for remark in by_name["holly"]["remarks"]] == [6, 7]
    shown = cli("family", "show", "holly")
    assert shown.stdout == WRONG
    assert "note: holly.yaml, line 7: parameters.A2.group: unknown group 'moton'" in shown.stderr
    assert len(cli("family", "show", "holly", "--json").json["remarks"]) == 2


def test_the_viewer_remarks_it(old: Vault, tmp_path: Path) -> None:
    client = create_app(tmp_path / "plant", is_local=True).test_client()
    assert "2 things to put right" in client.get("/families").text
    page = client.get("/families/holly").text
    assert "Line 6" in page
    assert "did you mean INTEGER8?" in page
    assert "did you mean" not in client.get("/families/hazel").text


def test_dictionaries_of_the_vault_say_what_is_wrong(old: Vault) -> None:
    told: list[VaultError] = []
    assert [(file.name, len(file.problems)) for file in list_families(old, told.append)] == [
        ("hazel", 0), ("holly", 2),
    ]  # fmt: skip


# Keys of format 2 raise the format of an old vault, in a commit of their own.


@pytest.fixture
def first(tmp_path: Path) -> Vault:
    """A vault of format 1."""
    shutil.unpack_archive(ARCHIVE, tmp_path / "plant")
    return Vault.open(tmp_path / "plant")


def reads(vault: Vault) -> int:
    vault.refresh()
    return format_of(vault.read_required(layout.VAULT, vault.tip))


@pytest.mark.parametrize(
    ("old", "new", "wanted"),
    [
        ("", "", 1),
        ("parameters:", "open: true\nparameters:", 2),
        ("parameters:", "always: [A2]\nparameters:", 2),
        ("parameters:", "groups: {cooling: Water}\nparameters:", 2),
        ("name: Flow,", "name: Flow, suggest: jog_velocity,", 2),
    ],
)
def test_a_dictionary_raises_the_format_where_it_needs_that(
    first: Vault, dictionary: Callable[[str], Path], old: str, new: str, wanted: int
) -> None:
    with first:
        assert reads(first) == 1
        add_family(first, dictionary(RIGHT.replace(old, new, 1)), BY)
        assert reads(first) == wanted
        assert first.family_file("holly").content == RIGHT.replace(old, new, 1).encode()


def test_a_suggestion_of_a_variant_counts_too(
    first: Vault, dictionary: Callable[[str], Path]
) -> None:
    variant = 'variants: [{firmware: ">=2", parameters: {A2: {suggest: jog_velocity}}}]\n'
    with first:
        add_family(first, dictionary(RIGHT + variant), BY)
        assert reads(first) == 2


@pytest.mark.parametrize(
    ("line", "wanted"), [("title: Ram", 1), ("controller: {instance: Line1.Ram}", 2)]
)
def test_an_axis_record_raises_the_format_where_it_needs_that(
    first: Vault, tmp_path: Path, line: str, wanted: int
) -> None:
    record = tmp_path / "ram.yaml"
    record.write_text(f"schema: axisvault/axis/1\n{line}\n")
    with first:
        before = first.read_required(layout.VAULT, first.tip)
        added = set_axis(first, Address("press", "ram"), record, BY)
        assert reads(first) == wanted
        raised = first.read_required(layout.VAULT, first.tip)
        assert raised.replace(b"reads: 2\n", b"") == before
        assert added.remarks == ()
        assert set_axis(first, Address("press", "ram"), record, BY).unchanged


def test_a_refused_dictionary_leaves_the_format_as_it_is(
    first: Vault, dictionary: Callable[[str], Path]
) -> None:
    with first:
        with pytest.raises(Unreadable):
            add_family(first, dictionary("open: true\n" + WRONG), BY)
        assert reads(first) == 1


def test_an_edit_of_a_kept_key_is_told_and_the_form_keeps_it(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    record = tmp_path / "ram.yaml"
    moves = "[{distance: 3 mm}, {distance: 4 mm}]"
    text = f"schema: axisvault/axis/1\nduty: {{cycle: 12 s, moves: {moves}}}\n"
    record.write_text(text + "controller: {tag_prefix: RAM_}\nmargins: {stop_room: 1.2}\n")
    assert cli("axis", "set", "press/ram", record).code == 0
    record.unlink()
    assert cli("axis", "template", "press/ram", "--out", record).code == 0
    form = record.read_text()
    assert "Nothing that it says changed." in cli("axis", "set", "press/ram", record).stdout
    record.write_text(form.replace("12 s", "15 s").replace("4 mm", "5 mm").replace("RAM_", "RAMS_"))
    changes = cli("axis", "set", "press/ram", record, "--json").json["changes"]
    assert [(c["path"], c["left"], c["right"]) for c in changes] == [
        ("controller.tag_prefix", "RAM_", "RAMS_"),
        ("duty.cycle", "12 s", "15 s"),
        ("duty.moves.1.distance", "4 mm", "5 mm"),
    ]
