"""What a restore plan holds, and what it does not; drives and values are invented."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline import golden
from vault.jobs.records.edit import add_family, set_axis
from vault.jobs.restore import plan_folder
from vault.jobs.restore.plan import RestorePlan, make_plan
from vault.jobs.restore.plan_folder import write_plan
from vault.jobs.restore.request import PlanRequest
from vault.model.errors import Refused, Unavailable, WrongUsage
from vault.model.names import Address
from vault.model.replacement import Replacement
from vault.store.vault import Vault

Export = Callable[..., str]
Cli = Callable[..., Outcome]
LIFT = "m1/lift"
SAME = Replacement()


def plan_of(vault: Vault, name: str = LIFT, fitted: Replacement = SAME, **how: Any) -> RestorePlan:
    return make_plan(vault, PlanRequest(name, fitted, **how))


def row(plan: RestorePlan, code: str) -> Any:
    return next(one for one in plan.rows if one.target.code == code)


# Which state is restored.


def test_the_golden_baseline_goes_before_the_latest(
    vault: Vault, take: Take, export_text: Export
) -> None:
    approved = take(export_text("2,5"))
    take(export_text("3"), "2026-03-02T08:00:00+00:00")
    plan = plan_of(vault)
    assert plan.chosen == "latest"
    assert "whether it was good or not" in plan.warnings[0]
    golden.approve(vault, f"{LIFT}@first", BY, "accepted")
    plan = plan_of(vault)
    assert plan.chosen == "golden"
    assert plan.target.snapshot is not None
    assert plan.target.snapshot.id == approved.snapshot.id
    assert (
        "differs from the golden baseline in 1 parameter, which this plan undoes"
        in (plan.warnings[0])
    )


def test_a_named_moment_is_taken_as_it_is(vault: Vault, take: Take, export_text: Export) -> None:
    take(export_text("2,5"))
    take(export_text("3"), "2026-03-02T08:00:00+00:00")
    plan = plan_of(vault, f"{LIFT}@2026-03-01")
    assert (plan.chosen, plan.warnings) == ("2026-03-01", ())
    assert row(plan, "lim/lag").target.value == 2.5


def test_an_axis_that_follows_a_twin_is_restored_to_its_own(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("2,5"), to="m2/lift")
    golden.approve(vault, "m2/lift", BY, "accepted")
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\nfollows: m2/lift\n")
    set_axis(vault, Address.parse(LIFT), tmp_path / "axis.yaml", BY)
    take(export_text("3"))
    plan = plan_of(vault)
    assert plan.chosen == "latest"
    assert "that of m2/lift, another machine" in plan.warnings[0]


def test_a_plan_needs_an_axis_of_the_vault(vault: Vault) -> None:
    with pytest.raises(WrongUsage, match="m1/lift"):
        plan_of(vault)


# What the load file is.


def test_the_load_file_is_the_export_byte_for_byte(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    text = export_text("2,5", serial="S-1")
    take(text)
    plan = plan_of(vault)
    assert plan.not_kept is None
    document, remarks = write_plan(plan, tmp_path / "out", BY)
    assert remarks == ()
    assert (tmp_path / "out/lift.csv").read_bytes() == text.encode()
    assert document["load_file"]["is_kept_export"]
    kept = json.loads((tmp_path / "out/plan.json").read_bytes())
    assert kept == json.loads(json.dumps(document))
    for listed in kept["files"]:
        content = (tmp_path / "out" / listed["name"]).read_bytes()
        assert hashlib.sha256(content).hexdigest() == listed["sha256"]


def test_a_safety_function_in_the_export_makes_another_file(plant: Vault, tmp_path: Path) -> None:
    plan = plan_of(plant, "glaze-line-2/lift")
    assert plan.not_kept is not None
    assert "safety-function" in plan.not_kept
    assert plan.load_file is not None
    assert b"[2480" not in plan.load_file.content
    write_plan(plan, tmp_path / "out", BY)
    (kept,) = (tmp_path / "out/kept-export").iterdir()
    assert kept.read_bytes() == plan.target.export_content()


SAFETY = """\
  safe/seen: {name: Safe stop seen, type: UNSIGNED16, safety: true, access: ro}
  safe/kind: {name: Safety module, type: UNSIGNED16, safety: true, access: const}
"""
SEEN = "safe/seen;Safe stop seen;1;\r\nsafe/kind;Safety module;4;\r\n"


def test_safety_rows_that_nothing_can_write_leave_the_export_as_it_was_kept(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    (tmp_path / "hazel.yaml").write_text(family_text + SAFETY)
    add_family(vault, tmp_path / "hazel.yaml", BY)
    take(export_text() + SEEN)
    plan = plan_of(vault)
    assert plan.not_kept is None
    assert {one.target.code for one in plan.never("safety")} == {"safe/seen", "safe/kind"}


def test_a_load_file_written_anew_holds_no_safety_row_even_if_it_is_read_only(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    narrowed(vault, family_text + SAFETY, lambda text: take(text + SEEN), export_text,
             tmp_path / "hazel.yaml")  # fmt: skip
    plan = plan_of(vault, fitted=Replacement(firmware="3.1"))
    assert plan.load_file is not None
    assert not plan.load_file.is_kept
    assert b"mov/speed" in plan.load_file.content
    assert b"safe/" not in plan.load_file.content


def test_a_firmware_that_nobody_knows_is_taken_to_be_as_it_was(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text())
    plan = plan_of(vault)
    assert (plan.firmware, plan.not_kept) == (None, None)
    line = next(one for one in plan.hardware.lines if one.item == "firmware")
    assert (line.kept, line.fitted, line.verdict) == (None, None, "not_told")


@pytest.mark.parametrize("told", [None, "2.0"])
def test_the_firmware_of_before_gets_the_export_as_it_was_kept(
    told: str | None,
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path,
) -> None:  # fmt: skip
    narrowed(vault, family_text, take, export_text, tmp_path / "hazel.yaml")
    plan = plan_of(vault, fitted=Replacement(firmware=told))
    assert (plan.firmware, plan.not_kept) == ("2.0", None)


def test_one_axis_of_a_shared_export_gets_its_own_rows_only(plant: Vault) -> None:
    plan = plan_of(plant, "kiln-loader/pusher")
    assert plan.not_kept == "it holds other axes too"
    assert plan.load_file is not None
    rows = [line.split("\t") for line in plan.load_file.content.decode("utf-16").splitlines()]
    heads = next(r for r in rows if "Axis" in r)
    axes = {r[heads.index("Axis")] for r in rows[rows.index(heads) + 1 :] if len(r) > 1}
    assert axes == {"2"}


def test_text_that_a_spreadsheet_would_compute_is_typed_in_by_hand(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    """Formula injection: OWASP names = + - @, tab and carriage return (from memory)."""
    (tmp_path / "hazel.yaml").write_text(
        family_text + "  nam/e: {name: Name, type: VISIBLE_STRING}\n"
        "  safe/x: {name: Safe stop, type: UNSIGNED16, safety: true}\n"
    )
    add_family(vault, tmp_path / "hazel.yaml", BY)
    take(export_text() + "nam/e;Name;=HYPERLINK(1);\r\nsafe/x;Safe stop;3;\r\n")
    plan = plan_of(vault)
    assert plan.load_file is not None
    assert b"HYPERLINK" not in plan.load_file.content
    assert b"safe/x" not in plan.load_file.content
    named = row(plan, "nam/e")
    assert (named.status, named.loaded) == ("decision", None)
    assert "begins as a formula of a spreadsheet does" in named.reason
    assert named in plan.open_rows


# Hardware, corrections, other firmware.

NARROW = """\
variants:
- firmware: '>=3.0'
  parameters:
    lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm, range: [0, 2]}
"""  # noqa: E501


def narrowed(vault: Vault, family_text: str, take: Take, export_text: Export, path: Path) -> None:
    text = family_text.replace("Saved: taken_at}", "Saved: taken_at, Version: firmware}")
    path.write_text(text + NARROW)
    add_family(vault, path, BY)
    take("Version;2.0;;\r\n" + export_text("2,5"))


def test_a_value_beyond_the_range_is_clipped_only_if_adapted(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    narrowed(vault, family_text, take, export_text, tmp_path / "hazel.yaml")
    fitted = Replacement(firmware="3.1")
    plan = plan_of(vault, fitted=fitted)
    assert row(plan, "lim/lag").status == "out_of_range"
    assert row(plan, "lim/lag").loaded is None
    assert any("beyond the range" in said for said in plan.warnings)
    assert plan.adapted == ()
    adapted = plan_of(vault, fitted=fitted, adapt=True)
    assert row(adapted, "lim/lag").loaded.raw == 200
    assert [(one.code, one.raw) for one in adapted.adapted] == [("lim/lag", "200")]
    assert adapted.load_file is not None
    assert b"lim/lag;Following error window;2;mm" in adapted.load_file.content.replace(b",00", b"")


@pytest.mark.parametrize(
    ("told", "verdict", "said"),
    [
        ("abc", "unknown", "'abc' is no version"),
        ("0.1", "unknown", "no rule of it names 0.1"),
        ("2.99.0", "unknown", "no rule of it names 2.99.0"),
        ("2.0.0", "compatible", "the same parameters"),
        ("3.1", "compatible", "beyond its narrower range"),
    ],
)
def test_a_firmware_of_which_the_dictionary_says_nothing_is_not_called_compatible(
    told: str, verdict: str, said: str,
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path,
) -> None:  # fmt: skip
    narrowed(vault, family_text, take, export_text, tmp_path / "hazel.yaml")
    plan = plan_of(vault, fitted=Replacement(firmware=told))
    line = next(one for one in plan.hardware.lines if one.item == "firmware")
    assert line.verdict == verdict
    assert said in line.sentences[0]
    assert ("the same parameters" in " ".join(line.sentences)) == (told == "2.0.0")


def test_a_correction_is_proposed_and_never_silent(plant: Vault) -> None:
    fitted = Replacement.model_validate({"motor": "AMO-48-30", "rated_torque": "4.77 N*m"})
    plan = plan_of(plant, "glaze-line-2/lift", fitted)
    proposed = {one.target.code for one in plan.hardware.corrections}
    assert {"0x6076:00", "0x6072:00", "0x60E0:00", "0x60E1:00"} <= proposed
    assert row(plan, "0x6072:00").loaded.raw == row(plan, "0x6072:00").target.raw
    assert any("--adapt corrects them" in said for said in plan.warnings)
    adapted = plan_of(plant, "glaze-line-2/lift", fitted, adapt=True)
    # The limit stays what it was in N*m: raw x 3.2 / 4.77, to the permille.
    before = row(plan, "0x6072:00").target.raw
    assert row(adapted, "0x6072:00").loaded.raw == round(before * 3.2 / 4.77)
    assert {one.code for one in adapted.adapted} == proposed


def test_hardware_that_does_not_fit_is_refused_and_nothing_is_written(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    tip = plant.tip
    with pytest.raises(Refused, match="no order code of family alder"):
        write_plan(plan_of(plant, "glaze-line-2/lift", Replacement(drive="RWN-4F")),
                   tmp_path / "out", BY)  # fmt: skip
    assert not (tmp_path / "out").exists()
    done = cli("restore", "plan", "glaze-line-2/lift", "--out", "out", "--drive", "RWN-4F")
    assert (done.code, "--onto FAMILY" in done.stderr) == (3, True)
    plant.refresh()
    assert plant.tip == tip


def test_a_plate_can_be_told_by_a_file_and_an_option_goes_first(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    (tmp_path / "plate.yaml").write_text("firmware: 2.43.1\nencoder_single_turn_bits: 24\n")
    told = cli("restore", "plan", "glaze-line-2/lift", "--out", "out", "--nameplate", "plate.yaml",
               "--encoder-bits", "20", "--json").json  # fmt: skip
    assert told["onto"]["fitted"] == {"firmware": "2.43.1", "encoder_single_turn_bits": 20}
    (tmp_path / "plate.yaml").write_text("firmwear: 2.43.1\n")
    bad = cli("restore", "plan", "glaze-line-2/lift", "--out", "o", "--nameplate", "plate.yaml")
    assert bad.code == 4
    assert "plate.yaml, line 1" in bad.stderr
    assert "firmwear" in bad.stderr


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--encoder-bits", "many"], "encoder bits: 'many' is no such number"),
        (["--encoder-bits", "99"], "encoder single turn bits: "),
        (["--rated-torque", "3 kg"], "rated torque: "),
        (["--onto", "oak"], "oak"),
    ],
)
def test_a_wrong_option_says_what_is_wrong(
    options: list[str], said: str, plant: Vault, cli: Cli
) -> None:
    done = cli("restore", "plan", "glaze-line-2/lift", "--out", "out", *options)
    assert done.code == 2
    assert said in done.stderr


# The folder.


def test_a_folder_that_holds_something_is_left_alone(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text())
    (tmp_path / "out").mkdir()
    (tmp_path / "out/mine").write_text("mine")
    with pytest.raises(WrongUsage, match="is there already, and not empty"):
        write_plan(plan_of(vault), tmp_path / "out", BY)
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["mine"]


def test_a_folder_is_there_whole_or_not_at_all(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text())
    plan = plan_of(vault)
    write, written = plan_folder.write_whole, []

    def fails_at_the_second(path: Path, content: bytes) -> None:
        if written:
            raise OSError(28, "No space left on device")
        written.append(path)
        write(path, content)

    monkeypatch.setattr(plan_folder, "write_whole", fails_at_the_second)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(Exception, match="No space left on device"):
        write_plan(plan, tmp_path / "out", BY)
    assert written
    assert sorted(tmp_path.iterdir()) == before


def test_a_vault_that_is_busy_does_not_stop_a_restore(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The plan is written all the same; the check is then told which one it was."""
    take(export_text("2,5"))
    plan = plan_of(vault)

    def busy(*_: object) -> None:
        raise Unavailable("somebody else is writing")

    with monkeypatch.context() as patch:
        patch.setattr(Vault, "writing", busy)
        _, remarks = write_plan(plan, tmp_path / "out", BY)
    assert "name it when checking (--plan)" in remarks[0]
    assert (tmp_path / "out/sheet.html").exists()


def test_a_plan_can_be_named_when_checking(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, cli: Cli
) -> None:
    take(export_text("2,5"))
    take(export_text("3"), "2026-03-02T08:00:00+00:00")
    vault.close()
    for name, when in (("older", "@first"), ("newer", "@latest")):
        assert cli("restore", "plan", f"{LIFT}{when}", "--out", name).code == 0
    (tmp_path / "left.csv").write_text(f"{export_text('2,5')}\n")
    given = cli("restore", "check", LIFT, "left.csv", "--plan", "older/plan.json", "--json")
    assert (given.code, given.json["restored"]) == (0, True)
    last = cli("restore", "check", LIFT, "left.csv", "--json")
    assert (last.code, [c["code"] for c in last.json["differences"]]) == (1, ["lim/lag"])


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ('{"axis": "m2/belt"}', "this is a plan for m2/belt"),
        ('{"axis": "m1/lift"}', "this is no plan.json of ours"),
        ("{", "this is no plan.json of ours"),
        (None, "the plan cannot be read: No such file or directory"),
    ],
)
def test_what_is_no_plan_of_the_axis_is_named(
    content: str | None, said: str,
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, cli: Cli,
) -> None:  # fmt: skip
    take(export_text())
    vault.close()
    (tmp_path / "left.csv").write_text(export_text())
    if content is not None:
        (tmp_path / "other.json").write_text(content)
    done = cli("restore", "check", LIFT, "left.csv", "--plan", "other.json")
    assert (done.code, done.stderr) == (4, f"axisvault: other.json: {said}\n")


def test_without_a_plan_the_check_holds_against_what_would_be_restored(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, cli: Cli
) -> None:
    take(export_text("2,5"))
    golden.approve(vault, LIFT, BY, "accepted")
    vault.close()
    (tmp_path / "left.csv").write_text(export_text("2,6"))
    found = cli("restore", "check", LIFT, "left.csv", "--json")
    assert (found.code, found.json["plan"]) == (1, None)
    assert [c["code"] for c in found.json["differences"]] == ["lim/lag"]
    assert found.json["differences"][0]["to_do"] == (
        "Set it to 2.5 mm (raw 250), or load the file again; then export again."
    )
