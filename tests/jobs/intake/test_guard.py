"""What the guards say of an export, and who may override it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Take
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.intake.guard import Verdict, guard
from vault.jobs.intake.name_clash import name_clash
from vault.jobs.intake.objection import Objection
from vault.jobs.records.axis_template import axis_template
from vault.jobs.records.edit import set_axis
from vault.model.errors import Refused, WrongUsage
from vault.model.names import CASE_HINT, Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
ELSEWHERE = (Objection("wrong_axis", "it is of the belt", elsewhere=Address("m1", "belt")),)


@pytest.fixture
def export(vault: Vault, export_text: Callable[..., str]) -> Export:
    return read_export(export_text().encode(), "a.csv", vault.family_file("hazel"))


def test_nothing_speaks_against_the_first_export_of_an_axis(vault: Vault, export: Export) -> None:
    verdict = guard(vault, LIFT, export, lambda snapshot: b"")
    assert verdict == Verdict(None, ())
    verdict.enforce("a.csv", None)


def test_an_objection_refuses_unless_a_reason_overrides_it() -> None:
    verdict = Verdict(None, ELSEWHERE)
    verdict.enforce("a.csv", "the drives were swapped")
    for no_reason in (None, ""):
        with pytest.raises(Refused, match="it is of the belt") as caught:
            verdict.enforce("a.csv", no_reason)
        assert caught.value.file == "a.csv"
        assert "--even-so REASON" in (caught.value.hint or "")


def test_no_reason_overrides_a_name_that_clashes() -> None:
    verdict = Verdict("'Lift' differs from 'lift'", ())
    with pytest.raises(WrongUsage, match="'Lift' differs from 'lift'"):
        verdict.enforce("a.csv", "it is called so")


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        ("m1/Lift", "'Lift' differs from 'lift' in upper and lower case only"),
        ("M1/lift", "'M1' differs from 'm1' in upper and lower case only"),
        ("M1/Lift", "'M1' differs from 'm1' in upper and lower case only"),
        ("m1/lift", None),
        ("m1/lifts", None),
        ("m2/Lift", None),
    ],
)
def test_a_name_clashes_with_one_that_differs_in_case_only(
    vault: Vault, take: Take, export_text: Callable[..., str], wanted: str, said: str | None
) -> None:
    take(export_text())
    assert name_clash(vault, Address.parse(wanted)) == said


def test_an_axis_that_has_only_a_record_has_its_name_too(vault: Vault) -> None:
    path = "machines/m1/lift/axis.yaml"
    with vault.writing():
        vault.write_files({path: b"schema: axisvault/axis/1\n"}, "Axis\n", BY)
    assert name_clash(vault, LIFT) is None
    assert name_clash(vault, Address("m1", "LIFT")) is not None


def test_every_objection_is_told_and_the_first_says_what_to_do() -> None:
    second = Objection("missing", "a parameter is missing", hint="export the whole set")
    with pytest.raises(Refused) as caught:
        Verdict(None, (*ELSEWHERE, second)).enforce("a.csv", None)
    assert caught.value.message == "it is of the belt; a parameter is missing"
    assert caught.value.hint == ELSEWHERE[0].hint


def test_a_description_is_that_and_nothing_else(vault: Vault, take: Take) -> None:
    """It lacks values of the set before, and its lists; neither says more."""
    one = "[2010]\nParameterName=a\nDataType=0x0007\nAccessType=rw\n{}=6\n"
    take(one.format("ParameterValue") + one.format("ParameterValue").replace("2010", "2011"),
         name="lift.dcf")  # fmt: skip
    export = read_export(one.format("DefaultValue").rstrip().encode(), "b.dcf", None)
    latest = vault.read_required("machines/m1/lift/parameters.yaml", vault.tip)
    verdict = guard(vault, LIFT, export, lambda snapshot: latest)
    assert [objection.kind for objection in verdict.objections] == ["description"]


def test_everybody_who_gives_an_axis_its_name_says_it_with_the_same_words(
    vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path
) -> None:
    take(export_text(), to="m1/lift")
    wanted = Address("m1", "Lift")
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\n")
    said = set()
    for give in (
        lambda: take(export_text(), "2026-03-02", to=str(wanted)),
        lambda: set_axis(vault, wanted, tmp_path / "axis.yaml", BY),
        lambda: axis_template(vault, wanted),
    ):
        with pytest.raises(WrongUsage) as caught:
            give()
        said.add((caught.value.message, caught.value.hint))
    assert said == {("'Lift' differs from 'lift' in upper and lower case only", CASE_HINT)}
