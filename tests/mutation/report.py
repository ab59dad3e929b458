"""What came of a run, for people and as JSON."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from tests.mutation.trial import Result


@dataclass(frozen=True)
class Report:
    """Results of a run over a sample of the places of a package."""

    package: str
    places: int  # that the package has
    sampled: int
    seed: int
    results: list[Result]

    @property
    def survivors(self) -> list[Result]:
        """Changes that no test noticed, in the order of the files."""
        lived = (result for result in self.results if result.end == "survived")
        return sorted(lived, key=lambda result: (result.mutant.path, result.mutant.line))

    @property
    def share(self) -> float | None:
        """Part of the tried changes that was noticed, 0 to 1; None where none was tried."""
        tried = len(self.results)
        return (tried - len(self.survivors)) / tried if tried else None

    def as_json(self) -> dict[str, Any]:
        """One document; a survivor with how many tests go through its place and how many ran."""
        ends = Counter(result.end for result in self.results)
        return {
            "package": self.package,
            "seed": self.seed,
            "places": self.places,
            "sampled": self.sampled,
            "tried": len(self.results),
            "killed": ends["killed"],
            "hung": ends["hung"],
            "survived": ends["survived"],
            "share": None if self.share is None else round(self.share, 4),
            "survivors": [
                {
                    "file": result.mutant.path.as_posix(),
                    "line": result.mutant.line,
                    "before": list(result.mutant.before),
                    "after": list(result.mutant.after),
                    "tests": result.tests,
                    "run": result.run,
                }
                for result in self.survivors
            ],
        }

    def as_text(self) -> str:
        """Survivors with what was changed, then the figures."""
        return "\n".join(self._lines())

    def _lines(self) -> Iterator[str]:
        for result in self.survivors:
            mutant = result.mutant
            ran = "no test" if not result.tests else f"{result.run} of {result.tests} tests ran"
            yield f"{mutant.path.as_posix()}:{mutant.line}  ({ran})"
            yield from (f"    - {line.strip()}" for line in mutant.before)
            yield from (f"    + {line.strip()}" for line in mutant.after)
            yield ""
        ends = Counter(result.end for result in self.results)
        yield (
            f"{self.package}: {len(self.results)} of {self.sampled} changes tried"
            f" ({self.places} places, seed {self.seed})"
        )
        share = "" if self.share is None else f" · {self.share:.1%} noticed"
        yield (
            f"{ends['killed']} killed · {ends['hung']} hung · {ends['survived']} survived{share}"
        )
