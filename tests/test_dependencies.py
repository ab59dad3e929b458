"""What we import is what pyproject.toml asks for, no less and no more; the wheel holds it all."""

from __future__ import annotations

import ast
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.conftest import ROOT

_OURS = {"vault", "webui", "example_machines", "tests"}
_RUN = {"mypy", "pytest-xdist", "ruff", "setuptools"}  # as programs or plugins, not imported
_READ = {"tzdata"}  # by the standard library


def asked_for(*extras: str) -> set[str]:
    """Distributions that pyproject.toml asks for."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    lists = [project["dependencies"], *(project["optional-dependencies"][e] for e in extras)]
    names = {canonicalize_name(Requirement(line).name) for lines in lists for line in lines}
    return names - {"axisvault"}


def imported(*tops: str) -> set[str]:
    """Distributions that modules below some folders import, at whatever place in them."""
    known = packages_distributions()
    names = {
        name.partition(".")[0]
        for top in tops
        for path in sorted((ROOT / top).rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        for name in names_in(node)
    }
    others = names - _OURS - sys.stdlib_module_names - {"_typeshed"}
    return {canonicalize_name(found) for name in others for found in known[name]}


def names_in(node: ast.AST) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom) and node.module is not None and not node.level:
        yield node.module


def test_every_import_of_the_program_is_asked_for_and_nothing_else() -> None:
    asked = asked_for("apprise", "tables")
    assert imported("vault", "webui", "example_machines") == asked - _READ


def test_every_import_of_the_tests_is_asked_for_and_nothing_else() -> None:
    there = asked_for("apprise", "tables")
    assert imported("tests") - there == asked_for("dev") - there - _RUN


def test_a_help_text_loads_no_library_of_the_viewer() -> None:
    code = (
        "import sys, vault.cli; vault.cli.run(['--help']); "
        "print(sorted({'prometheus_client', 'flask', 'apprise', 'pydantic'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.splitlines()[-1] == "[]"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> set[str]:
    """Names of the files in the wheel, built from a copy of what belongs to it."""
    folder = tmp_path_factory.mktemp("wheel")
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    for name in filter(None, listed.split("\0")):
        source, copy = ROOT / name, folder / "source" / name
        if source.is_file() and not name.startswith("tests/"):
            copy.parent.mkdir(parents=True, exist_ok=True)
            copy.write_bytes(source.read_bytes())
    build = f"from setuptools import build_meta; build_meta.build_wheel({str(folder)!r})"
    subprocess.run(
        [sys.executable, "-c", build], cwd=folder / "source", capture_output=True, check=True
    )
    (built,) = folder.glob("*.whl")
    return set(zipfile.ZipFile(built).namelist())


def test_the_wheel_holds_every_file_of_the_program(wheel: set[str]) -> None:
    wanted = {
        path.relative_to(ROOT).as_posix()
        for top in ("vault", "webui", "example_machines")
        for path in Path(ROOT / top).rglob("*")
        if path.is_file() and path.name[0] != "." and "__pycache__" not in path.parts
    }
    assert {Path(name).suffix for name in wanted} >= {
        ".py",
        ".html",
        ".css",
        ".jinja",
        ".md",
        ".yaml",
    }
    assert wanted - wheel == set()


def test_the_licence_is_for_the_owner_to_choose() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert "license" not in project
