"""The last step of the demo: a drive gets its dictionary from its exports, and is then like others.

The palletiser's drives are of the invented family hazel; load files are read with `openpyxl`.
"""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from example_machines import FOLDER, hazel_export
from example_machines.story_palletiser import MAST
from example_machines.visits import State
from tests.conftest import BY, Outcome, git_of
from tests.drafted_dictionary import DICTIONARY, drafted, said
from vault.jobs.demo.unknown_drive import PERSON, UnknownDrive, add_unknown_drive
from vault.jobs.families.confirm_roles import confirm_roles
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import add_new_family
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.request import PlanRequest, parse_plan_request
from vault.jobs.restore.verdict import hold_against
from vault.jobs.state.compare import compare_states
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.store.vault import Vault

Cli = Callable[..., Outcome]


def quiet(done: int, total: int) -> None:
    """Progress that nobody looks at."""


@pytest.fixture(scope="module")
def built(works: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, UnknownDrive]:
    folder = tmp_path_factory.mktemp("demo") / "plant"
    shutil.copytree(works, folder)
    return folder, add_unknown_drive(folder, quiet)


@pytest.fixture(scope="module")
def demo(built: tuple[Path, UnknownDrive]) -> Iterator[Vault]:
    """The whole demo vault, for reading only."""
    with Vault.open(built[0]) as vault:
        yield vault


def rows(content: bytes) -> dict[str, tuple[Any, ...]]:
    """Rows of the table of a workbook by code, as openpyxl reads them."""
    sheet = openpyxl.load_workbook(io.BytesIO(content))["Parameterliste"]
    found = sheet.iter_rows(min_row=9, values_only=True)
    return {row[0]: row for row in found if row[0] and row[1]}


def explained(vault: Vault, left: str, right: str) -> dict[str, tuple[str, str]]:
    """Consequence and explanation by code, of what differs."""
    result = compare_states(resolve(vault, left), resolve(vault, right)).comparison
    shown = [change for change in result.changes if change.kind == "changed"]
    return {change.shown.code: (change.consequence, change.explanation) for change in shown}


# What the demo shows


def test_the_draft_and_what_was_said_to_it_are_commits_of_one_person(
    built: tuple[Path, UnknownDrive],
) -> None:
    git = git_of(built[0].parent)
    told = git("log", "--format=%an <%ae>", "--", "families/hazel.yaml")
    assert told.splitlines() == [PERSON, PERSON]


def test_no_family_of_the_plant_takes_the_workbooks_for_its_own(
    built: tuple[Path, UnknownDrive],
) -> None:
    assert built[1].draft.belongs_to == ()


def test_a_second_run_adds_nothing(works: Path, tmp_path: Path) -> None:
    folder = tmp_path / "plant"
    shutil.copytree(works, folder)
    first = add_unknown_drive(folder, quiet)
    with Vault.open(folder) as vault:
        tip = vault.tip
    assert add_unknown_drive(folder, quiet).built == first.built
    with Vault.open(folder) as vault:
        assert vault.tip == tip


def test_the_whole_demo_is_verified(demo: Vault) -> None:
    outcome = verify(demo)
    assert outcome.problems == []
    assert outcome.snapshots == demo.index.count()


# What people said, in a vault of their own


@pytest.fixture
def unconfirmed(tmp_path: Path) -> Iterator[Vault]:
    """A vault with the palletiser's exports, read by the draft as nobody has looked at it."""
    with Vault.create(tmp_path / "plant", "Tile works (invented)", BY) as vault:
        add_new_family(vault, drafted(), "hazel.yaml", BY)
        assert ingest_tree(vault, FOLDER, BY, FOLDER / "palletiser.csv").failures == []
        yield vault


def test_before_anybody_confirms_a_role_nothing_is_called_a_hazard(unconfirmed: Vault) -> None:
    told = explained(unconfirmed, "palletiser/mast@previous", "palletiser/mast")
    assert told["bre.zu"][0] == told["anh.rampe"][0] == "unclassified"
    assert "hazard" not in {consequence for consequence, _ in told.values()}


def test_confirming_the_same_roles_one_after_another_gives_the_same_dictionary(
    unconfirmed: Vault,
) -> None:
    roles, who = said()
    for code, role in roles.items():
        confirm_roles(unconfirmed, "hazel", {code: role}, PERSON)
    name = PERSON.partition(" <")[0]
    text = unconfirmed.family_file("hazel").content.decode()
    assert re.sub(rf"{name}, \d{{4}}-\d\d-\d\d", who, text) == DICTIONARY.read_text("utf-8")


# What it is good for


def test_typed_in_settings_that_stayed_as_delivered_are_hazards(demo: Vault) -> None:
    """The way of a stop is v^2 / 2a (textbook): 640^2 / 3000 = 136.5 mm of 120 mm."""
    told = explained(demo, "palletiser/mast@previous", "palletiser/mast")
    assert told["bre.zu"][0] == told["anh.rampe"][0] == told["sic.summe"][0] == "hazard"
    assert "The brake closes in 65 ms, the motor holds for 20 ms" in told["bre.zu"][1]
    assert f"takes {640**2 / 3000:.1f} mm" in told["anh.rampe"][1]
    assert "only 120 mm" in told["anh.rampe"][1]


def test_software_limits_that_were_switched_off_in_german_are_a_hazard(demo: Vault) -> None:
    told = explained(demo, "palletiser/slide@previous", "palletiser/slide")
    assert told["grz.aktiv"][0] == told["ueb.schlepp"][0] == "hazard"
    assert "runs on to its over-travel switches or hard stops" in told["grz.aktiv"][1]


def test_what_was_meant_at_commissioning_and_tuning_is_no_hazard(demo: Vault) -> None:
    for axis in ("mast", "slide"):
        told = explained(demo, f"palletiser/{axis}@first", f"palletiser/{axis}@previous")
        assert len(told) >= 3
        assert "hazard" not in {consequence for consequence, _ in told.values()}


def test_a_choice_that_the_workbook_gives_as_a_number_has_the_standards_meaning(
    demo: Vault,
) -> None:
    """CiA 402-2, 605Ah: 6 is to slow down on the quick-stop ramp and stay (from memory)."""
    found = resolve(demo, "palletiser/mast").parameters["anh.schnell"]
    assert found.raw == 6
    assert found.label == "Stop on the quick-stop ramp, then hold with power on"


def replaced_drive(**settings: Any) -> State:
    """The mast with the replaced drive, as it is after the set of before was loaded."""
    before, found = list(MAST.states())[1:]
    visit = replace(found.visit, taken_at="2026-11-20T08:00:00+01:00", changes={}, live={})
    return State(MAST, visit, 3, {**before.settings, **settings}, found.fitted)


def test_what_the_drive_held_before_it_was_replaced_is_restored(
    demo: Vault, tmp_path: Path
) -> None:
    plan = make_plan(demo, PlanRequest("palletiser/mast@previous"))
    kept = FOLDER / "exports/palletiser/mast/2025-05-20-as-left.xlsx"
    assert plan.load_file is not None
    assert plan.load_file.content == kept.read_bytes()
    path = tmp_path / "as-left.xlsx"
    path.write_bytes(hazel_export.text(replaced_drive()))
    rest = hold_against(plan.target, resolve(demo, f"file:{path}", family="hazel"))
    assert [one.change.shown.code for one in rest.differences] == []
    path.write_bytes(hazel_export.text(replaced_drive(**{"bre.zu": 20})))
    rest = hold_against(plan.target, resolve(demo, f"file:{path}", family="hazel"))
    assert [one.change.shown.code for one in rest.differences] == ["bre.zu"]


def test_a_correction_is_put_into_the_cell_of_the_kept_workbook_and_nothing_else_is(
    demo: Vault,
) -> None:
    fitted = parse_plan_request("palletiser/mast@previous", encoder_bits="24+12", adapt=True)
    plan = make_plan(demo, fitted)
    assert plan.load_file is not None
    kept = FOLDER / "exports/palletiser/mast/2025-05-20-as-left.xlsx"
    before, after = rows(kept.read_bytes()), rows(plan.load_file.content)
    changed = {code for code in after if after[code] != before[code]}
    assert changed == {"geb.striche"}
    assert after["geb.striche"] == (*before["geb.striche"][:2], 2**24, *before["geb.striche"][3:])
    hardware = {"ger.bestell", "ger.serie", "ger.stand", "mot.bestell"}
    safety = {"sic.tempo", "sic.summe"}
    status = {code for code in before if code.startswith("ist.")}
    assert before.keys() - after.keys() == hardware | safety | status | {"ger.stunden"}


def test_against_another_family_ja_is_yes(demo: Vault) -> None:
    told = explained(demo, "kiln-loader/hoist@first", "palletiser/mast@first")
    assert "grz.moment" in told
    assert not {"grz.aktiv", "bre.da", "ntz.wid"} & told.keys()


def test_onto_a_drive_of_another_family_a_switch_is_carried_over(demo: Vault) -> None:
    plan = make_plan(demo, PlanRequest("palletiser/mast@previous", onto="larch"))
    assert plan.load_file is not None
    lines = (line.split("\t") for line in plan.load_file.content.decode("utf-16").splitlines())
    held = {cells[1]: cells[3] for cells in lines if len(cells) > 3}
    assert held["mov-120"] == held["brk-501"] == "1"
