"""The form of a trial for every kind of axis of the example plant, and that it reads back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.trial_answers import filled
from vault.jobs.trials.template import trial_template
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.trial import RESULTS
from vault.store.clock import now
from vault.store.files.moment_names import name_of_moment
from vault.store.files.trial_text import Trial, read_kept_trial, read_trial, trial_text
from vault.store.vault import Vault

AXES = (
    "glaze-line-1/lift", "glaze-line-1/belt-feed", "glaze-line-1/turntable",
    "glaze-line-1/slurry-pump", "kiln-loader/hoist", "kiln-loader/roller-bed",
)  # fmt: skip


@pytest.fixture(scope="module")
def forms(works: Path) -> dict[str, str]:
    with Vault.open(works) as vault:
        return {axis: trial_template(vault, Address.parse(axis)).decode() for axis in AXES}


def keys(form: str) -> set[str]:
    return set(re.findall(r"^ *([a-z_]+):", form, re.MULTILINE))


@pytest.mark.parametrize(
    ("axis", "there", "absent"),
    [
        ("glaze-line-1/lift", {"holds", "drop", "moves", "stops"}, {"readings"}),
        ("glaze-line-1/belt-feed", {"moves", "stops"}, {"holds", "drop"}),
        ("glaze-line-1/turntable", {"over_travel_low", "home", "readings"}, {"holds", "drop"}),
        ("glaze-line-1/slurry-pump", {"positive", "reacts"}, {"moves", "home", "over_travel_low"}),
        ("kiln-loader/roller-bed", {"positive", "reacts"}, {"moves", "drop", "over_travel_high"}),
        ("kiln-loader/hoist", {"holds", "drop", "moves"}, set()),
    ],
)
def test_what_is_not_fitted_is_not_asked(
    forms: dict[str, str], axis: str, there: set[str], absent: set[str]
) -> None:
    found = keys(forms[axis])
    assert there <= found
    assert not absent & found


@pytest.mark.parametrize("axis", AXES)
def test_every_form_carries_its_cautions_and_reads_as_it_is(
    forms: dict[str, str], axis: str
) -> None:
    assert "ISO 14118" in forms[axis]
    assert "no acceptance of safety functions" in forms[axis]
    record, moment = read_trial(forms[axis].encode(), "trial.yaml")
    assert record.is_blank
    assert moment is None


def test_moves_of_the_form_are_those_of_the_record(forms: dict[str, str]) -> None:
    assert "{commanded: 300 mm, measured: }" in forms["glaze-line-1/lift"]
    assert "{commanded: -90 deg, measured: }" in forms["glaze-line-1/turntable"]


WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), min_size=1, max_size=40)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    axis=st.sampled_from(AXES),
    tick=st.sampled_from(RESULTS),
    way=st.decimals(0, 1000, places=3),
    note=WORDS,
)
def test_any_form_that_is_filled_in_is_read_back(
    forms: dict[str, str], axis: str, tick: str, way: object, note: str
) -> None:
    unit = "deg" if axis.endswith("turntable") else "mm"
    text = filled(forms[axis], tick=tick, way=f"{way} {unit}", drop=f"{way} {unit}")
    record, _ = read_trial(text.encode(), "trial.yaml")
    assert set(record.ticks.values()) == {tick}
    record = record.model_copy(update={"note": note, "vault_at": "b" * 40})
    moment = now().replace(microsecond=0)
    trial = Trial(name_of_moment(moment), record, moment, "Mira <>", moment, "a" * 40)
    kept = read_kept_trial(trial_text(trial), f"machines/m/a/trials/{trial.name}/trial.yaml")
    assert kept.record.ticks == record.ticks
    assert kept.record.note == note
    assert kept.record.stops == record.stops
    assert kept.record.moves == record.moves
    assert trial_text(kept) == trial_text(trial)


def test_an_axis_without_a_set_has_no_trial_yet(vault: Vault, tmp_path: Path) -> None:
    from vault.jobs.records.edit import set_axis

    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\n")
    set_axis(vault, Address("m1", "lift"), tmp_path / "axis.yaml", "Mira <>")
    with pytest.raises(WrongUsage, match="no snapshot"):
        trial_template(vault, Address("m1", "lift"))
