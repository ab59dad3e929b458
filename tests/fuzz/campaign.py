"""Reading many variants: what was not refused in our own words, what took long, what took much."""

from __future__ import annotations

import resource
import time
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from traceback import extract_tb

from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st

from tests.fuzz.edits import EDITS, Edit, edited
from tests.fuzz.targets import Target
from vault.model.errors import VaultError

LONGEST_SECONDS = 10
LARGEST_BYTES = 300 * 2**20


@dataclass(frozen=True, slots=True)
class Finding:
    """An input that did what it must not; `where` is the last line of ours that was passed."""

    target: str
    reason: str
    where: str
    content: bytes


@dataclass(slots=True)
class Report:
    """What came of a campaign: inputs and refusals by target, findings, one for each place."""

    inputs: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    longest: dict[str, float] = field(default_factory=dict)
    findings: dict[tuple[str, str, str], Finding] = field(default_factory=dict)
    grown_bytes: int = 0

    @property
    def is_clean(self) -> bool:
        """Whether nothing was found, and memory stayed within its bound."""
        return not self.findings and self.grown_bytes <= LARGEST_BYTES


def run(
    wanted: list[Target], rounds: int, start: int, told: Callable[[str], None] = lambda text: None
) -> Report:
    """Read a hundred times `rounds` variants, spread over the targets by their share."""
    report = Report()
    before = _peak()
    for target in wanted:
        _fuzz(target, target.share * rounds, start, report)
        told(f"{target.name}: {report.inputs[target.name]:,} inputs")
    report.grown_bytes = _peak() - before
    return report


def _fuzz(target: Target, count: int, start: int, report: Report) -> None:
    @seed(start)
    @settings(
        max_examples=max(1, count), database=None, deadline=None, phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(st.sampled_from(target.seeds), EDITS)
    def one(content: bytes, edits: list[Edit]) -> None:
        _look(target, edited(content, edits), report)

    one()


def _look(target: Target, content: bytes, report: Report) -> None:
    report.inputs[target.name] += 1
    begun = time.perf_counter()
    try:
        target.read(content)
    except VaultError:
        report.refused[target.name] += 1
    except Exception as error:
        _found(target, f"{type(error).__name__}: {error}"[:200], _where(error), content, report)
    spent = time.perf_counter() - begun
    report.longest[target.name] = max(spent, report.longest.get(target.name, 0.0))
    if spent > LONGEST_SECONDS:
        _found(target, f"it took {spent:.0f} s", "", content, report)


def _found(target: Target, reason: str, where: str, content: bytes, report: Report) -> None:
    key = target.name, reason.partition(":")[0], where
    report.findings.setdefault(key, Finding(target.name, reason, where, content))


def _where(error: Exception) -> str:
    ours = [
        f"{frame.filename.rpartition('/vault/')[2] or frame.filename}:{frame.lineno}"
        for frame in extract_tb(error.__traceback__)
        if "/vault/" in frame.filename or "/webui/" in frame.filename
    ]
    return ours[-1] if ours else ""


def _peak() -> int:
    """The most memory that this process ever had, in bytes (Linux counts kB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024


def lines(report: Report) -> Iterator[str]:
    """The report as a table."""
    yield f"{'kind of input':<16} {'inputs':>9} {'refused':>9} {'longest':>9}"
    for name, count in report.inputs.items():
        longest = f"{report.longest[name]:.2f} s"
        yield f"{name:<16} {count:>9,} {report.refused[name]:>9,} {longest:>9}"
    total = sum(report.inputs.values())
    grown = report.grown_bytes / 2**20
    yield f"{total:,} inputs, memory grew by {grown:.0f} MiB, {len(report.findings)} findings."
    for finding in report.findings.values():
        yield f"{finding.target}: {finding.reason} ({finding.where})"
        yield f"  {finding.content[:300]!r}"
