"""The harness itself, on a package of two functions of which one is tested well."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.mutation.mutants import Mutant, modules_of, places, sample
from tests.mutation.recording import Recording, recorded
from tests.mutation.report import Report
from tests.mutation.trial import Result, try_all

_CODE = '''\
"""Two functions."""


def larger(left: int, right: int) -> int:
    return left if left > right else right


def is_full(level: int, size: int) -> bool:
    return level >= size
'''
_TESTS = """\
import inspect

import pytest
from small import names
from small.sizes import is_full, larger


@pytest.fixture(scope="module")
def whole():
    return is_full(5, 3)


def test_the_larger_of_two():
    assert larger(2, 1) == 2
    assert larger(1, 2) == 2


def test_more_than_full_is_full(whole):
    assert whole


def test_what_was_full_once(whole):
    assert whole


def test_names_are_in_small_letters():
    assert "N" not in inspect.getsource(names)
"""


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A checkout with the package `small` and its tests."""
    root = tmp_path_factory.mktemp("checkout")
    files = {
        "small/sizes.py": _CODE, "small/names.py": 'FIRST = "one"\n', "tests/test_sizes.py": _TESTS,
    }  # fmt: skip
    for name, text in files.items():
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text(text)
    (root / ".gitignore").write_text(".mutation-cache/\n")
    subprocess.run(["git", "init", "-q", str(root)], check=True)
    return root


@pytest.fixture(scope="module")
def recording(small: Path) -> Recording:
    return recorded(small, ["small"], ["tests"], workers=1)


def mutants(root: Path, count: int = 1000, seed: int = 1) -> list[Mutant]:
    return sample(places(root, modules_of(root, "small")), count, seed)


def test_a_change_that_a_test_notices_is_killed_and_one_that_none_notices_survives(
    small: Path, recording: Recording
) -> None:
    tried = [mutant for mutant in mutants(small) if mutant.line == 9]
    results: list[Result] = []
    assert try_all(small, tried, recording, workers=2, seconds=60, told=results.append)
    ends = {result.mutant.after: result.end for result in results}
    assert ends == {("    return None",): "killed", ("    return level > size",): "survived"}
    assert (small / "small/sizes.py").read_text() == _CODE


def test_tests_of_a_shared_fixture_are_chosen_for_what_it_runs(
    small: Path, recording: Recording
) -> None:
    chosen = {
        mutant.line: {test.split("::")[1] for test in recording.tests_for(mutant)}
        for mutant in mutants(small)
    }
    assert chosen[5] == {"test_the_larger_of_two"}
    assert chosen[9] == {"test_more_than_full_is_full", "test_what_was_full_once"}


def test_a_test_that_reads_the_code_takes_part(small: Path, recording: Recording) -> None:
    named = next(mutant for mutant in mutants(small) if mutant.path.name == "names.py")
    assert [test.split("::")[1] for test in recording.tests_for(named)] == [
        "test_names_are_in_small_letters"
    ]


def test_a_recording_is_made_once_for_the_same_files(
    small: Path, recording: Recording, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    assert recorded(small, ["small"], ["tests"], workers=1).seconds == recording.seconds


def test_the_same_seed_gives_the_same_sample_and_another_seed_another(small: Path) -> None:
    one, same, other = mutants(small, 3, 1), mutants(small, 3, 1), mutants(small, 3, 2)
    assert one == same != other
    assert len(one) == 3


def test_a_package_that_is_not_there_is_refused() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.mutation", "vault.nothing"],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (1, "")
    assert "no package or module vault.nothing" in done.stderr


def test_a_report_names_the_survivor_and_what_was_changed(small: Path) -> None:
    mutant = next(mutant for mutant in mutants(small) if mutant.line == 9)
    report = Report("small", 10, 1, 1, [Result(mutant, "survived", tests=2, run=2)])
    text = report.as_text()
    assert "small/sizes.py:9  (2 of 2 tests ran)" in text
    assert f"- {mutant.before[0].strip()}" in text
    assert f"+ {mutant.after[0].strip()}" in text
    assert "0.0% noticed" in text
    assert json.dumps(report.as_json())
