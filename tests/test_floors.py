"""The floors of the house: a module imports only what lies on its own floor or below."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FLOORS = ["vault.model", "vault.formats", "vault.store", "vault.meaning", "vault.jobs", "vault.cli"]
MODULES = sorted(
    path
    for package in ("vault", "webui", "example_machines")
    for path in (ROOT / package).rglob("*.py")
)


def dotted(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def floor(module: str) -> int | None:
    """Number of the floor a module lives on; the viewer is on top."""
    if module.split(".")[0] == "webui":
        return len(FLOORS)
    for number, name in enumerate(FLOORS):
        if module == name or module.startswith(f"{name}."):
            return number
    return None


def imports(path: Path) -> set[str]:
    package = dotted(path) if path.name == "__init__.py" else dotted(path).rpartition(".")[0]
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1]
            base = ".".join([*above, node.module or ""]) if node.level else node.module or ""
            found |= {f"{base}.{alias.name}" for alias in node.names} | {base}
    return found


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_a_module_imports_only_its_own_floor_and_those_below(path: Path) -> None:
    own = floor(dotted(path))
    if own is None:  # the packages' own roots and the example plant: nothing of ours but the model
        own = floor("vault.formats")
    if dotted(path) == "vault.__main__":
        own = floor("vault.cli")
    too_high = {name for name in imports(path) if (floor(name) or 0) > (own or 0)}
    assert not too_high


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_git_is_used_by_the_repository_module_alone(path: Path) -> None:
    uses = {name for name in imports(path) if name.split(".")[0] == "git"}
    assert not uses or dotted(path) == "vault.store.git.repository"


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_yaml_is_used_by_the_yaml_module_alone(path: Path) -> None:
    uses = {name for name in imports(path) if name.split(".")[0] == "ruamel"}
    assert not uses or dotted(path) == "vault.store.files.yaml_text"


@pytest.mark.parametrize("path", MODULES, ids=dotted)
def test_a_module_stays_under_400_lines(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) < 400


def test_every_floor_has_modules() -> None:
    populated = {floor(dotted(path)) for path in MODULES}
    assert populated >= set(range(len(FLOORS) + 1))
