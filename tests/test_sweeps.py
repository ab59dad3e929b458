"""That a run which is not whole does a part, always the same, and that named cases all run."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import ROOT

MANY = 40
PROJECT = """\
[tool.pytest.ini_options]
testpaths = ["cases"]
"""
CASES = f"""\
import pytest
from hypothesis import settings
from tests.sweeps import part_of, some_of

@pytest.mark.sweep(4)
@pytest.mark.parametrize("number", range({MANY}))
def test_many(number):
    pass

@pytest.mark.sweep(1000)
@pytest.mark.parametrize("number", range(5))
def test_few(number):
    pass

@pytest.mark.sweep(1000)
def test_alone():
    pass

HOW_OFTEN = part_of(100), part_of(3), part_of(60, 2), settings().max_examples
SOME = "".join(some_of("abcdefg")), "".join(some_of("abcd", 2))

@pytest.mark.parametrize("told", ["-".join(map(str, (*HOW_OFTEN, *SOME)))])
def test_told(told):
    pass
"""
PART, WHOLE = "told[25-1-30-20-adg-ac]", "told[100-3-60-50-abcdefg-abcd]"


@pytest.fixture
def project(tmp_path: Path) -> Path:
    (tmp_path / "pyproject.toml").write_text(PROJECT)
    (tmp_path / "cases").mkdir()
    (tmp_path / "cases/test_it.py").write_text(CASES)
    return tmp_path


def run(project: Path, clean: dict[str, str], *words: str) -> set[str]:
    """The tests that passed, each of them once."""
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-p", "tests.sweeps", "-rA", *words],
        env={**clean, "PYTHONPATH": str(ROOT)}, cwd=project,
        capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    found = re.findall(r"^PASSED \S+::test_(\S+)$", done.stdout, re.MULTILINE)
    assert len(found) == len(set(found))
    return set(found)


def many(found: set[str]) -> list[int]:
    return sorted(int(name[5:-1]) for name in found if name.startswith("many["))


def test_a_run_of_all_tests_does_a_part_and_each_time_the_same(
    project: Path, clean: dict[str, str]
) -> None:
    found = run(project, clean)
    assert many(found)[0] == 0
    assert MANY / 8 < len(many(found)) < MANY / 2
    assert {"few[0]", "alone", PART} == {name for name in found if not name.startswith("many[")}
    assert run(project, clean, "-n", "2") == found


@pytest.mark.parametrize("words", [(), ("-n", "2")], ids=["alone", "shared"])
def test_cases_that_somebody_names_all_run(
    project: Path, clean: dict[str, str], words: tuple[str, ...]
) -> None:
    found = run(project, clean, "cases/test_it.py", *words)
    assert many(found) == list(range(MANY))
    assert PART in found
    last = f"many[{MANY - 1}]"
    assert run(project, clean, f"cases/test_it.py::test_{last}", *words) == {last}
    assert run(project, clean, "-k", f"test_{last}", *words) == {last}


@pytest.mark.parametrize("words", [(), ("-n", "2")], ids=["alone", "shared"])
def test_a_whole_run_does_all(project: Path, clean: dict[str, str], words: tuple[str, ...]) -> None:
    found = run(project, clean, "--whole", *words)
    assert many(found) == list(range(MANY))
    assert {"few[4]", WHOLE} <= found
