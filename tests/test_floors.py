"""The house: what may import what. One test a rule, over every import, type-checking ones too."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLOORS = [
    "vault.model",
    "vault.formats",
    "vault.store",
    "vault.behaviour",
    "vault.meaning",
    "vault.jobs",
    "vault.cli",
]
PATHS = {
    path: ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
    for package in ("vault", "webui", "example_machines")
    for path in sorted((ROOT / package).rglob("*.py"))
}
MODULES = set(PATHS.values())
LONGEST_MODULE = 400


def imported(path: Path) -> set[str]:
    """Modules that a module imports; of ours the module itself and not its packages."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path}: write the whole name of what is imported"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                names.add(inner if inner in MODULES else node.module or "")
    return names


@pytest.fixture(scope="module")
def imports() -> dict[str, set[str]]:
    """What every module of ours imports."""
    return {module: imported(path) - {module} for path, module in PATHS.items()}


def floor(module: str) -> int:
    """Number of the floor a module lives on; the viewer is on top, all else of ours below."""
    if module.split(".")[0] == "webui":
        return len(FLOORS)
    if module == "vault.__main__":
        return FLOORS.index("vault.cli")
    for number, name in enumerate(FLOORS):
        if module == name or module.startswith(f"{name}."):
            return number
    return -1  # the packages' roots and the example plant


def package_of(module: str) -> str:
    """The package of a floor that a module lies in: `vault.jobs.intake`; else the module."""
    return ".".join(module.split(".")[:3])


def arrows(imports: dict[str, set[str]]) -> Iterator[tuple[str, str]]:
    for module, names in imports.items():
        yield from ((module, name) for name in names if name in MODULES)


def circle(graph: dict[str, set[str]]) -> list[str]:
    """Names along a circle of a graph, none where it has none."""
    done: set[str] = set()

    def walk(name: str, way: list[str]) -> list[str]:
        if name in way:
            return [*way[way.index(name) :], name]
        if name not in done:
            for following in sorted(graph.get(name, ())):
                if around := walk(following, [*way, name]):
                    return around
            done.add(name)
        return []

    return next((around for name in sorted(graph) if (around := walk(name, []))), [])


def test_every_floor_has_modules() -> None:
    assert {floor(module) for module in MODULES} >= set(range(len(FLOORS) + 1))


def test_no_floor_imports_one_above_it(imports: dict[str, set[str]]) -> None:
    model = FLOORS.index("vault.formats")  # what has no floor may use no more than that
    upwards = [
        (module, name)
        for module, name in arrows(imports)
        if floor(name) > (floor(module) if floor(module) >= 0 else model)
    ]
    assert not upwards


def test_the_command_line_and_the_viewer_do_not_know_each_other(
    imports: dict[str, set[str]],
) -> None:
    assert not [pair for pair in arrows(imports) if {floor(n) for n in pair} == {6, 7}]


def test_no_modules_import_each_other_in_a_circle(imports: dict[str, set[str]]) -> None:
    assert not circle({module: names & MODULES for module, names in imports.items()})


@pytest.mark.parametrize("of", ["vault.jobs", "vault.store"])
def test_packages_of_a_floor_form_a_tree(of: str, imports: dict[str, set[str]]) -> None:
    graph: dict[str, set[str]] = {}
    for module, name in arrows(imports):
        one, other = package_of(module), package_of(name)
        if one != other and one.startswith(f"{of}.") and other.startswith(f"{of}."):
            graph.setdefault(one, set()).add(other)
    assert not circle(graph)


def test_every_module_of_jobs_lies_in_a_package() -> None:
    names = [module for module in MODULES if module.startswith("vault.jobs.")]
    packages = {module for path, module in PATHS.items() if path.name == "__init__.py"}
    assert not [name for name in names if package_of(name) not in packages]


def test_packages_of_jobs_and_store_import_nothing_themselves(
    imports: dict[str, set[str]],
) -> None:
    faces = {
        module
        for path, module in PATHS.items()
        if path.name == "__init__.py" and module.startswith(("vault.jobs", "vault.store"))
    } - {"vault.jobs.alerts.channels"}  # the register of channels
    assert not [module for module in faces if imports[module]]


def test_a_module_that_begins_with_an_underscore_is_its_packages_own(
    imports: dict[str, set[str]],
) -> None:
    def is_foreign(module: str, name: str) -> bool:
        home, _, last = name.rpartition(".")
        return last.startswith("_") and not module.startswith(home)

    assert not [pair for pair in arrows(imports) if is_foreign(*pair) and "__" not in pair[1]]


def users_of(library: str, imports: dict[str, set[str]]) -> set[str]:
    return {
        module
        for module, names in imports.items()
        if any(name.split(".")[0] == library for name in names)
    }


def test_git_is_used_by_one_module(imports: dict[str, set[str]]) -> None:
    assert users_of("git", imports) == {"vault.store.git._program"}


def test_git_is_run_in_its_package_alone_and_the_branch_moved_by_the_witness_alone() -> None:
    """Everybody else asks what `vault/store/git` has a name for; a move is never unwitnessed."""
    allowed = {"git": "vault.store.git", "advance": "vault.store.proof.witness"}
    uses = [
        (module, ast.unparse(node))
        for path, module in PATHS.items()
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute)
        and (node.attr == "git" or ast.unparse(node).endswith("repository.advance"))
        and not module.startswith(allowed[node.attr])
    ]
    assert not uses


def test_yaml_is_used_by_one_module(imports: dict[str, set[str]]) -> None:
    assert users_of("ruamel", imports) == {"vault.store.files.yaml_text"}


def test_file_locks_are_used_by_one_module(imports: dict[str, set[str]]) -> None:
    assert users_of("filelock", imports) == {"vault.store.local.lock"}


TELL_TIME = {"now", "utcnow", "today", "fromtimestamp", "utcfromtimestamp"}
NO_DATES = {"monotonic", "sleep"}
"""What of the module time tells no date: how long something takes, and waiting."""


def clocks_read(tree: ast.Module) -> Iterator[str]:
    """Where a module asks the clock itself, or makes a date of a number of seconds."""
    imports_time = False
    for node in ast.walk(tree):
        match node:
            case ast.ImportFrom(module="time", names=names):
                yield from (one.name for one in names if one.name not in NO_DATES)
            case ast.Import(names=names):
                imports_time = imports_time or any(one.name == "time" for one in names)
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute):
            whole = ast.unparse(node)
            dates = node.attr in TELL_TIME and whole.split(".")[-2] in ("datetime", "date")
            times = imports_time and whole.startswith("time.") and node.attr not in NO_DATES
            if dates or times:
                yield whole


def test_all_time_comes_from_the_clock_of_the_store() -> None:
    read = {m: [*clocks_read(ast.parse(path.read_text("utf-8")))] for path, m in PATHS.items()}
    uses = {module: found for module, found in read.items() if found}
    assert uses == {"vault.store.clock": ["datetime.now"]}


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("import datetime\nx = datetime.datetime.now()", ["datetime.datetime.now"]),
        ("from datetime import date\nx = date.today()", ["date.today"]),
        ("x = datetime.fromtimestamp(7)", ["datetime.fromtimestamp"]),
        ("import time\nx = time.time()\ny = time.monotonic()", ["time.time"]),
        ("from time import monotonic, time_ns", ["time_ns"]),
        ("from datetime import time\nx = time.max", []),
        ("from vault.store.clock import now\nx = now()", []),
    ],
)
def test_who_asks_a_clock_is_found(text: str, found: list[str]) -> None:
    assert [*clocks_read(ast.parse(text))] == found


def test_no_module_is_longer_than_400_lines() -> None:
    lengths = {module: len(path.read_text("utf-8").splitlines()) for path, module in PATHS.items()}
    assert not {module: n for module, n in lengths.items() if n >= LONGEST_MODULE}


def test_meaning_computes_no_physics() -> None:
    """What an axis does is asked of behaviour: here only numbers are told apart and turned over."""
    allowed = {"isinf", "isfinite", "inf", "floor", "ceil", "log2", "log10", "pi", "degrees"}
    for path, module in PATHS.items():
        if not module.startswith("vault.meaning"):
            continue
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "math":
                assert {alias.name for alias in node.names} <= allowed, module
            if isinstance(node, ast.ImportFrom) and node.module == "vault.behaviour":
                assert "formulas" not in {alias.name for alias in node.names}, module
