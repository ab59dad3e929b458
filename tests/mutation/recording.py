"""Which tests run which line of the code: recorded once by running them all, then kept.

What is kept lies in `.mutation-cache/` of the checkout under the hash of its files, so that it
holds as long as nothing is changed.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from coverage import CoverageData

from tests.mutation import checkout
from tests.mutation.mutants import Mutant

CACHE = ".mutation-cache"


@dataclass(frozen=True)
class Recording:
    """What the tests did when nothing was changed."""

    seconds: dict[str, float]  # of each test that passed
    _asks_for: dict[str, list[str]]  # test to fixtures
    _reads: dict[str, list[str]]  # test to files whose code it reads
    _coverage: CoverageData

    def tests_for(self, mutant: Mutant) -> list[str]:
        """Tests that go through a place or read its file; its mirror first, then quick ones.

        What runs on import is nobody's; for it all tests count that run anything of the module.
        """
        by_line = self._coverage.contexts_by_lineno(str(mutant.path))
        lines = by_line.keys() if mutant.on_import else mutant.statement
        contexts = {context for line in lines for context in by_line.get(line, [])}
        fixtures = {context.removeprefix("fixture:") for context in contexts}
        tests = {
            test
            for test in self.seconds
            if test in contexts
            or not fixtures.isdisjoint(self._asks_for[test])
            or str(mutant.path) in self._reads[test]
        }
        mirror = str(Path("tests", *mutant.path.parts[1:-1]))
        return sorted(tests, key=lambda t: (not t.startswith(mirror), self.seconds[t], t))


def recorded(root: Path, packages: Iterable[str], tests: Iterable[str], workers: int) -> Recording:
    """The recording of a checkout, made anew if there is none yet.

    Raises:
        RuntimeError: the tests did not run at all.
    """
    tests = list(tests)
    name = "-".join([checkout.tree_hash(root)[:16], *tests]).replace("/", ".")
    kept = root / CACHE / name
    if not kept.is_dir():
        _record(root, packages, tests, workers, kept)
    return _read(kept)


def _record(
    root: Path, packages: Iterable[str], tests: list[str], workers: int, kept: Path
) -> None:
    print("recording which tests run which line (kept for the next time) …", file=sys.stderr)
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        copy, made = Path(folder) / "copy", Path(folder) / "made"
        made.mkdir()
        checkout.copy_to(root, copy)
        around = checkout.environment(
            MUTATION_RECORD=str(made), MUTATION_PACKAGES=" ".join(packages)
        )
        parallel = ["-n", str(workers)] if workers > 1 else []
        command = [sys.executable, "-m", "pytest", "-q", "-p", "record_lines", *parallel, *tests]
        command.append("--ignore=tests/mutation")  # which would run this very code
        log = made / "pytest.log"
        with log.open("wb") as output:
            subprocess.run(command, cwd=copy, env=around, stdout=output, stderr=output, check=False)
        if not any(json.loads(path.read_text()) for path in made.glob("tests.*.json")):
            raise RuntimeError(f"no test ran:\n{log.read_text()[-2000:]}")
        kept.parent.mkdir(exist_ok=True)
        shutil.move(made, kept)


def _read(kept: Path) -> Recording:
    coverage = CoverageData(str(kept / "lines"), no_disk=True)
    for path in kept.glob("coverage.*"):
        part = CoverageData(str(path))
        part.read()
        coverage.update(part)
    tests = defaultdict(list)
    for path in kept.glob("tests.*.json"):
        for test, noted in json.loads(path.read_text()).items():
            tests[test].append(noted)
    passed = {test: runs[0] for test, runs in tests.items() if all(r["passed"] for r in runs)}
    if left_out := len(tests) - len(passed):
        print(f"{left_out} tests do not pass as it is and take no part", file=sys.stderr)
    return Recording(
        {test: run["seconds"] for test, run in passed.items()},
        {test: run["fixtures"] for test, run in passed.items()},
        {test: run["reads"] for test, run in passed.items()},
        coverage,
    )
