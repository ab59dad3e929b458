"""Machine against machine. What is said of a pair is held against the comparison of its two axes.

Machines, axes and the family hazel are invented.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest

from tests.conftest import BY, Take
from vault.jobs.records.rename import rename_axis
from vault.jobs.records.retire import retire_axis
from vault.jobs.state.compare import compare_states
from vault.jobs.state.compare_machines import (
    MachinesCompared,
    closest_machines,
    compare_machines,
    likely_twins,
    pairing_from,
    pairs_of,
)
from vault.jobs.state.selectors import resolve
from vault.meaning.consequences import CONSEQUENCES, rank
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

Text = Callable[..., str]
LINES = ("glaze-line-1", "glaze-line-2")


@pytest.fixture
def twins(plant: Vault) -> MachinesCompared:
    return compare_machines(plant, *LINES)


# Pairing.


def test_axes_of_one_name_pair_and_the_rest_stands_alone(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m1/slide", "m2/lift", "m2/mast"):
        take(export_text(), to=axis)
    found = pairs_of(vault, "m1", "m2")
    assert [tuple(map(str, pair)) for pair in found.pairs] == [("m1/lift", "m2/lift")]
    assert (found.only_left, found.only_right) == (
        (Address("m1", "slide"),),
        (Address("m2", "mast"),),
    )


def test_a_mapping_pairs_axes_of_two_names_and_leaves_their_namesakes_alone(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m1/hoist", "m2/lift", "m2/hoist"):
        take(export_text(), to=axis)
    found = pairs_of(vault, "m1", "m2", {"lift": "hoist"})
    assert [tuple(map(str, pair)) for pair in found.pairs] == [("m1/lift", "m2/hoist")]
    assert (found.only_left, found.only_right) == (
        (Address("m1", "hoist"),),
        (Address("m2", "lift"),),
    )
    compared = compare_machines(vault, "m1", "m2", {"lift": "hoist"})
    assert [pair.name for pair in compared.pairs] == ["lift and hoist"]


def test_an_axis_that_was_renamed_on_one_machine_pairs_by_the_name_it_had(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m1/belt", "m1/mast", "m2/lift", "m2/belt", "m2/arm"):
        take(export_text(), to=axis)
    rename_axis(vault, Address("m1", "lift"), "hoist", BY)
    rename_axis(vault, Address("m2", "belt"), "feed", BY)
    for left, right in (("m1", "m2"), ("m2", "m1")):
        found = pairs_of(vault, left, right)
        names = {"m1": "hoist", "m2": "lift"}, {"m1": "belt", "m2": "feed"}
        assert {tuple(map(str, pair)) for pair in found.pairs} == {
            (f"{left}/{name[left]}", f"{right}/{name[right]}") for name in names
        }
        assert len(found.only_left) == len(found.only_right) == 1
    told = {str(one.left): one.remarks[:1] for one in compare_machines(vault, "m1", "m2").pairs}
    assert told["m1/hoist"] == ("Paired by a former name: hoist and lift were both called lift.",)
    # Whoever has the name now goes before who had it, and what fits two is left to a person.
    take(export_text(), to="m2/hoist")
    pairs = {tuple(map(str, pair)) for pair in pairs_of(vault, "m1", "m2").pairs}
    assert ("m1/hoist", "m2/hoist") in pairs
    assert ("m1/hoist", "m2/lift") not in pairs


def test_a_pairing_is_read_as_people_write_it() -> None:
    assert pairing_from(["lift=hoist", " slide = mast, belt=feed"]) == {
        "lift": "hoist", "slide": "mast", "belt": "feed",
    }  # fmt: skip
    assert pairing_from([""]) == {}


@pytest.mark.parametrize(
    "text", ["lift", "lift=", "=lift", "a/b=c", "lift=a,lift=b", "a=lift,b=lift"]
)
def test_what_is_no_pairing_is_refused(text: str) -> None:
    with pytest.raises(WrongUsage):
        pairing_from([text])


@pytest.mark.parametrize(
    ("left", "right", "pairing", "said"),
    [
        ("glaze-line-1", "glaze-line-1", {}, "it takes two"),
        ("glaze-line-1", "glaze-line-9", {}, "there is no machine 'glaze-line-9'"),
        ("glaze-line-1", "kiln-loader", {"lift": "hoists"}, "there is no axis kiln-loader/hoists"),
    ],
)
def test_a_machine_or_axis_that_is_not_there_is_refused(
    plant: Vault, left: str, right: str, pairing: dict[str, str], said: str
) -> None:
    with pytest.raises(WrongUsage, match=re.escape(said)):
        compare_machines(plant, left, right, pairing)


def test_the_likely_twin_has_most_axes_of_the_same_names(plant: Vault) -> None:
    assert likely_twins(plant, "glaze-line-2")[0] == "glaze-line-1"
    assert closest_machines(plant) == LINES


def test_a_vault_of_one_machine_has_no_two_that_are_close(
    take: Take, export_text: Text, vault: Vault
) -> None:
    assert closest_machines(vault) is None
    take(export_text(), to="m1/lift")
    assert closest_machines(vault) is None


# What is told.


def test_every_axis_of_the_twins_is_told_worst_first(twins: MachinesCompared) -> None:
    assert len(twins.pairs) == 5
    assert not (twins.only_left or twins.only_right or twins.failures)
    counts = [list(pair.counts.values()) for pair in twins.pairs]
    assert counts == sorted(counts, reverse=True)
    assert twins.pairs[0].name == "turntable"
    assert twins.pairs[0].worst == "hazard"


def test_a_pair_tells_what_the_comparison_of_its_axes_does(
    twins: MachinesCompared, plant: Vault
) -> None:
    for pair in twins.pairs:
        compared = compare_states(*(resolve(plant, str(side)) for side in (pair.left, pair.right)))
        news = compared.comparison.news
        assert pair.compared.comparison.changes == compared.comparison.changes
        own = [*pair.apart.own_changes, *pair.apart.own_places]
        together = len(news) + len(compared.comparison.surroundings)
        assert sum(pair.counts.values()) + len(own) == together
        told = [change.explanation for change in news if change.kind != "shifted"]
        expected = [change.explanation for change in pair.apart.own_changes]
        assert set(told) == {text for _, text in pair.differences} & set(told) | set(expected)


def test_the_first_two_sentences_are_of_the_worst_difference(twins: MachinesCompared) -> None:
    for pair in twins.pairs:
        classes = [consequence for consequence, _ in pair.differences]
        assert classes == sorted(classes, key=rank)
        assert pair.worst == next(name for name in CONSEQUENCES if pair.counts[name])
        text = " ".join(pair.sentences)
        assert pair.differences[0][1].startswith(text)
        assert 1 <= len(pair.sentences) <= 2


def test_what_two_axes_have_is_never_told_as_what_became_of_one(twins: MachinesCompared) -> None:
    for pair in twins.pairs:
        for _, text in pair.differences:
            assert not re.search(r"\bbecame\b|\binstead of before\b", text), text


def test_addresses_serials_and_offsets_are_apart_and_counted(twins: MachinesCompared) -> None:
    names = {c.shown.role for pair in twins.pairs for c in pair.apart.own_changes}
    assert names >= {"home_offset", "station_alias", "safety_address", "serial_number"}
    places = {around.path for pair in twins.pairs for around in pair.apart.own_places}
    assert places >= {"nameplate.node_id", "controller_link.node_address"}
    assert twins.expected == sum(len(pair.own) for pair in twins.pairs) > 0


def test_a_parameter_that_repeats_a_serial_number_of_the_plate_must_differ(
    twins: MachinesCompared,
) -> None:
    belt = next(pair for pair in twins.pairs if pair.name == "belt-feed")
    assert {"Drive serial number, printed", "Motor serial number"} <= {
        change.shown.name for change in belt.apart.own_changes
    }


def test_twins_that_differ_in_their_serials_alone_are_alike(
    take: Take, export_text: Text, vault: Vault
) -> None:
    take(export_text(serial="HZ-1"), to="m1/lift")
    take(export_text(serial="HZ-2"), to="m2/lift")
    compared = compare_machines(vault, "m1", "m2")
    (pair,) = compared.alike
    assert (pair.counts_text, pair.worst) == ("nothing differs but what must (1)", None)
    assert (compared.told, compared.differs) == ((), False)


def test_a_set_that_is_not_whole_is_never_told_as_alike(
    take: Take, export_text: Text, vault: Vault
) -> None:
    take(export_text(), to="m1/lift")
    take(export_text() + "what is this\r\n", to="m2/lift", partial=True)
    (pair,) = compare_machines(vault, "m1", "m2").told
    assert not pair.is_alike
    assert any("m2/lift" in remark for remark in pair.remarks)


def test_an_axis_alone_makes_two_machines_differ(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m2/lift", "m2/mast"):
        take(export_text(), to=axis)
    assert compare_machines(vault, "m1", "m2").differs


def test_an_axis_without_a_snapshot_is_told_and_holds_up_no_other(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m2/lift", "m1/mast"):
        take(export_text(), to=axis)
    with vault.writing():
        file = layout.axis_file(Address("m2", "mast"))
        vault.write_files({file: b"schema: axisvault/axis/1\n"}, "a new axis\n", BY)
    compared = compare_machines(vault, "m1", "m2")
    assert compared.without_snapshot == (Address("m2", "mast"),)
    assert [pair.name for pair in compared.pairs] == ["lift"]


def test_a_pair_that_cannot_be_read_holds_up_no_other(plant: Vault) -> None:
    with plant.writing():
        file = layout.axis_file(Address("glaze-line-2", "turntable"))
        plant.write_files({file: b"schema: none of ours\n"}, "by hand\n", BY)
    compared = compare_machines(plant, *LINES)
    assert [str(right) for _, right in compared.failures] == ["glaze-line-2/turntable"]
    assert len(compared.pairs) == 4


def test_an_axis_whose_partner_is_merely_retired_is_told_so(
    take: Take, export_text: Text, vault: Vault
) -> None:
    for axis in ("m1/lift", "m1/slide", "m1/pump", "m2/lift", "m2/hoist", "m2/pump"):
        take(export_text(), to=axis)
    for axis in ("m1/pump", "m2/hoist"):
        retire_axis(vault, vault.address(axis), BY, "scrapped")
    compared = compare_machines(vault, "m1", "m2")
    assert compared.alone == [("m1", [Address("m1", "slide")]), ("m2", [])]
    assert compared.retired == {Address("m2", "pump"): Address("m1", "pump")}
    paired = pairs_of(vault, "m1", "m2", {"slide": "hoist"})
    assert paired.retired[Address("m1", "slide")] == Address("m2", "hoist")
