"""What `history` tells of the example machines (invented).

Numbers are held against git's own files, as ruamel.yaml reads them and DeepDiff compares them; who
and why against the manifest, as the standard library reads it.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Callable
from decimal import Decimal
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from deepdiff import DeepDiff
from ruamel.yaml import YAML

from example_machines import MANIFEST
from tests.conftest import git_of
from tests.jobs.inspect.test_history import by_sets, steps
from tests.sweeps import some_of
from vault.cli import axisvault
from vault.jobs.inspect.history import ParameterStep
from vault.jobs.state.selectors import State, view_of
from vault.model.names import Address
from vault.store.vault import Vault

ROWS = list(csv.DictReader(io.StringIO(MANIFEST.read_text("utf-8"))))
AXES = sorted({f"{row['machine']}/{row['axis']}" for row in ROWS})
EVENTFUL = [
    "glaze-line-1/lift",
    "glaze-line-1/spray-carriage",
    "glaze-line-1/turntable",
    "kiln-loader/hoist",
]
LIFT, CARRIAGE = "glaze-line-1/lift", "glaze-line-1/spray-carriage"
Git = Callable[..., str]
Sets = list[dict[str, dict[str, str]]]


def told(works: Path, *words: str) -> str:
    result = CliRunner().invoke(axisvault, ["--vault", str(works), "history", *words])
    assert result.exit_code == 0, result.output
    return result.output


def lines(works: Path, *words: str) -> list[str]:
    """Lines of a table after its heads, without padding."""
    return [" ".join(line.split()) for line in told(works, *words).splitlines()[1:]]


def found(works: Path, *words: str) -> Any:
    return json.loads(told(works, *words, "--json"))


# Every parameter.


@pytest.fixture(scope="module", params=some_of(EVENTFUL, 2))
def axis(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="module")
def courses(works: Path, axis: str) -> dict[str, list[ParameterStep]]:
    """What is told of every parameter that any snapshot of the axis has."""
    address = Address.parse(axis)
    with Vault.open(works) as vault:
        views = [view_of(State("", vault, address, s)) for s in vault.index.snapshots(address)]
        codes = {code for view in views for code in view.parameters}
        return {code: steps(vault, code, address) for code in sorted(codes)}


def test_every_parameter_is_told_as_comparing_whole_sets_tells_it(
    works: Path, axis: str, courses: dict[str, list[ParameterStep]]
) -> None:
    with Vault.open(works) as vault:
        expected = by_sets(vault, Address.parse(axis))
    assert len(expected) >= 120
    assert {code: [step.kind for step in found] for code, found in courses.items()} == expected


def plain_sets(git: Git, works: Path, axis: str) -> Sets:
    """All sets of an axis in the order they were taken, every scalar as it is written."""
    path = f"machines/{axis}"
    log = git("log", "--no-merges", "--format=%at %H", "--", f"{path}/snapshot.yaml", where=works)
    commits = [line.split()[1] for line in sorted(log.splitlines())]
    texts = (git("show", f"{commit}:{path}/parameters.yaml", where=works) for commit in commits)
    return [YAML(typ="base").load(text)["parameters"] for text in texts]


def numbers(one: dict[str, dict[str, str]]) -> dict[str, dict[str, str]]:
    return {code: {k: p.get(k, "") for k in ("value", "unit", "raw")} for code, p in one.items()}


def by_deepdiff(one: dict[str, dict[str, str]], other: dict[str, dict[str, str]]) -> set[str]:
    """Codes whose value, unit or raw content differs."""
    found = DeepDiff(numbers(one), numbers(other), view="tree", threshold_to_diff_deeper=0)
    return {level.path(output_format="list")[0] for levels in found.values() for level in levels}


@pytest.fixture(scope="module")
def plain(works: Path, axis: str, tmp_path_factory: pytest.TempPathFactory) -> Sets:
    return plain_sets(git_of(tmp_path_factory.mktemp("git")), works, axis)


def test_every_number_is_the_one_that_git_holds(
    axis: str, courses: dict[str, list[ParameterStep]], plain: Sets
) -> None:
    assert len(plain) == sum(f"{row['machine']}/{row['axis']}" == axis for row in ROWS)
    assert courses.keys() == {code for one in plain for code in one}
    for code, found in courses.items():
        for step, one in zip(found, plain, strict=True):
            parameter = step.parameter
            assert (parameter is None) == (code not in one), code
            if parameter is not None:
                text = one[code]["raw"]
                is_text = isinstance(parameter.raw, str)
                assert parameter.raw == (text if is_text else Decimal(text)), code


def test_a_number_differs_exactly_where_it_does_in_git(
    courses: dict[str, list[ParameterStep]], plain: Sets
) -> None:
    differing = [by_deepdiff(one, other) for one, other in pairwise(plain)]
    for code, found in courses.items():
        other_number = [step.kind not in (None, "shifted") for step in found[1:]]
        assert other_number == [code in codes for codes in differing], code


# One parameter in words.


def test_a_new_encoder_is_another_meaning_only_until_it_is_set(works: Path) -> None:
    """2^20 counted of 2^24: the window of 4 mm is really a sixteenth, 0.25 mm."""
    window = lines(works, LIFT, "--parameter", "0x6065:00")
    assert window[4:] == [
        "2024-11-06 10:50 4,000 user units 4 mm 4000 Pavo Drostmaa routine",
        "2025-11-17 03:25 meaning only 4,000 user units 4 mm, really 0.25 mm 4000 Yara Okonjel "
        "as-found",
        "2025-11-18 11:40 meaning only 4,000 user units 4 mm 4000 Tomas Quillfeather as-left",
    ]


def test_another_user_unit_is_another_number_only(works: Path) -> None:
    window = lines(works, CARRIAGE, "--parameter", "0x6065:00")
    assert window[2:5] == [
        "2020-11-18 09:20 1,250 user units 2 mm 1250 Pavo Drostmaa routine",
        "2022-03-09 13:10 number only 2,000 user units 2 mm 2000 Tomas Quillfeather as-left",
        "2023-06-20 15:45 2,000 user units 2 mm 2000 Pavo Drostmaa routine",
    ]


@pytest.mark.parametrize(
    ("units", "said", "really"),
    [
        ("si", "0.004 m", "0.00025 m"),
        # An inch is 25.4 mm: 4 / 25.4 and 0.25 / 25.4, to five digits.
        ("inch", "0.15748 in", "0.0098425 in"),
    ],
)
def test_the_reader_chooses_the_unit(works: Path, units: str, said: str, really: str) -> None:
    window = lines(works, LIFT, "--parameter", "following_error_window", "--units", units)
    assert f"4,000 user units {said} 4000" in window[0]
    assert f"4,000 user units {said}, really {really} 4000" in window[5]
    assert not [line for line in window if " mm" in line]


@pytest.mark.parametrize("name", ["0x6065:00", "0x6065", "0x6065:0", "following_error_window"])
def test_a_code_in_any_spelling_and_its_role_tell_the_same(works: Path, name: str) -> None:
    written = found(works, LIFT, "--parameter", name)
    assert written.pop("parameter") == name
    expected = found(works, LIFT, "--parameter", "0x6065:00")
    del expected["parameter"]
    assert written == expected


def test_json_tells_every_value_with_its_two_sizes(works: Path) -> None:
    document = found(works, LIFT, "--parameter", "0x6065:00")
    assert (document["axis"], document["parameter"]) == (LIFT, "0x6065:00")
    values = document["values"]
    assert [value["kind"] for value in values] == [None] * 5 + ["shifted"] * 2
    assert [value["changed"] for value in values] == [True] + [False] * 4 + [True] * 2
    assert {key: values[5][key] for key in values[5] if key != "snapshot"} == {
        "taken_at": "2025-11-17T03:25:00+01:00",
        "by": "Yara Okonjel <yara.okonjel@tileworks.example>",
        "occasion": "as-found",
        "changed": True,
        "kind": "shifted",
        "raw": "4000",
        "value": "4000",
        "unit": "user_position",
        "label": None,
        "physical": {"value": "0.00025", "unit": "m"},
        "stated": {"value": "0.004", "unit": "m"},
        "text": "4 mm",
        "really": "0.25 mm",
    }


def test_json_in_another_unit_differs_in_its_text_alone(works: Path) -> None:
    parameter = (LIFT, "--parameter", "0x6065:00")
    metric, inch = found(works, *parameter), found(works, *parameter, "--units", "inch")
    assert {value.pop("text") for value in metric["values"]} == {"4 mm"}
    assert {value.pop("text") for value in inch["values"]} == {"0.15748 in"}
    assert {value.pop("really") for value in metric["values"]} == {None, "0.25 mm"}
    assert {value.pop("really") for value in inch["values"]} == {None, "0.0098425 in"}
    assert metric == inch


def test_a_parameter_that_is_not_there_is_named_and_wrong_usage(
    works: Path, cli: Callable[..., Any]
) -> None:
    words = ("history", LIFT, "--parameter", "0x6FFF:00")
    outcome = cli(*words, environment={"AXISVAULT": str(works)})
    assert (outcome.code, outcome.stdout) == (2, "")
    reason = f"no snapshot of {LIFT} has a parameter '0x6FFF:00'"
    assert outcome.stderr == f"axisvault: {reason}\n"
    outcome = cli(*words, "--json", environment={"AXISVAULT": str(works)})
    assert (outcome.json["error"]["code"], outcome.json["error"]["message"]) == (2, reason)


# All snapshots.


@pytest.mark.parametrize("axis", AXES)
def test_every_snapshot_tells_who_took_it_when_and_why(works: Path, axis: str) -> None:
    rows = [row for row in ROWS if f"{row['machine']}/{row['axis']}" == axis]
    document = found(works, axis)
    assert document["axis"] == axis
    told_of = ("taken_at", "occasion", "by", "work_order", "note", "family")
    assert [[entry[key] for key in told_of] for entry in document["snapshots"]] == [
        [row[key] or None for key in told_of] for row in rows
    ]


def entry_of(works: Path, axis: str, day: str) -> Any:
    (entry,) = (e for e in found(works, axis)["snapshots"] if e["taken_at"].startswith(day))
    return entry


def test_the_first_snapshot_has_nothing_to_be_held_against(works: Path) -> None:
    first = found(works, LIFT)["snapshots"][0]
    assert (first["summary"], first["sentences"]) == (None, [])


def test_a_snapshot_tells_what_it_changed_in_sentences(works: Path) -> None:
    sentences = entry_of(works, LIFT, "2019-10-29")["sentences"]
    assert any(s.startswith("Torque filter time: 0.4 ms became 0.8 ms") for s in sentences)


def test_a_snapshot_tells_first_what_means_something_else_without_a_new_number(
    works: Path,
) -> None:
    entry = entry_of(works, LIFT, "2025-11-17")
    # 2^20 / 2^24
    assert "every commanded way is really 0.0625 times what it was" in entry["sentences"][0]
    assert entry["summary"]["shifted"] > 0


def test_a_snapshot_that_only_restates_is_told_by_its_cause(works: Path) -> None:
    entry = entry_of(works, CARRIAGE, "2022-03-09")
    assert entry["summary"]["restated"] >= 20
    (sentence,) = entry["sentences"]
    assert sentence.startswith("The user unit changed from ")


def test_sentences_follow_the_unit_of_the_reader(works: Path) -> None:
    (inch,) = (
        sentence
        for entry in found(works, LIFT, "--units", "inch")["snapshots"]
        for sentence in entry["sentences"]
        if sentence.startswith("Home offset: 0 in became")
    )
    assert "became 4.6614 in" in inch  # 118.4 mm / 25.4


def test_text_tells_an_entry_like_a_log_book(works: Path) -> None:
    *entries, counts = told(works, LIFT, "--kind", "snapshot").split("\n\n")
    assert (len(entries), counts.strip()) == (7, "In the logbook: snapshots 7, axis record 1.")
    head, order, note, *sentences = entries[-2].splitlines()
    identity = entry_of(works, LIFT, "2019-10-29")["snapshot"][:10]
    assert head == f"2019-10-29 10:10, as-left, by Tomas Quillfeather  [{identity}]"
    assert order == "  Work order WO-19-0741."
    assert note == "  gentler ramps for thin tiles, torque filter raised"
    assert any(s.startswith("  Torque filter time: 0.4 ms became 0.8 ms") for s in sentences)


def test_text_says_where_there_is_nothing_to_tell(works: Path) -> None:
    entries = told(works, LIFT, "--kind", "snapshot").split("\n\n")
    ends = [entry.splitlines()[-1] for entry in entries[-2::-1]]
    assert ends[0] == "  The first snapshot of this axis."
    assert ends[2:5] == ["  No setting changed."] * 3
