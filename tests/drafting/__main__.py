"""`python -m tests.drafting --cases 400`: drafts of generated exports, as a table."""

from __future__ import annotations

import argparse
import sys
import time
from collections import defaultdict

from tests.drafting.cases import export_of
from tests.drafting.measure import Result, measure, misses


def main() -> int:
    """Run, and leave with 1 where a target is missed."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.drafting",
        description="Draft dictionaries from generated exports and hold them against the truth.",
        epilog="Example: python -m tests.drafting --cases 400 --seed 7",
    )
    parser.add_argument("--cases", type=int, default=400, help="how many exports (400)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other exports (1)")
    parser.add_argument("--only", default="", help="one container alone")
    parser.add_argument("--problems", type=int, default=20, help="problems to show (20)")
    asked = parser.parse_args()
    by_container: dict[str, Result] = defaultdict(Result)
    shown = 0
    for number in range(asked.cases):
        export = export_of(asked.seed, number, container=asked.only)
        try:
            found = measure(export)
        except Exception as error:
            sys.stdout.write(f"case {number} {export.style}: {error!r}\n")
            raise
        by_container[export.style.container].add(found)
        if shown < asked.problems and found.problems:
            shown += 1
            sys.stdout.write(f"case {number} {export.style}\n")
            sys.stdout.writelines(f"    {line}\n" for line in found.problems[:4])
    total = Result()
    sys.stdout.write(_HEAD)
    for container, found in sorted(by_container.items()):
        sys.stdout.write(row(container, found))
        total.add(found)
    sys.stdout.write(row("all", total))
    sys.stdout.write(f"draft of 2,000 parameters: {_seconds():.2f} s (target: less than 2)\n")
    missed = list(misses(total))
    sys.stdout.writelines(f"missed: {line}\n" for line in missed)
    return 1 if missed else 0


_COLUMNS = (
    ("exports", "exports"), ("whole", "whole"), ("refused_whole", "none read"),
    ("values", "values"), ("exact", "exact"), ("empty", "empty"),
    ("refused", "refused"), ("asked", "asked"),
    ("wrong", "wrong"), ("roles", "roles"), ("roles_first", "first"), ("hazards_given", "hazard"),
    ("written_back", "written"), ("same_bytes", "same"), ("plate", "plates"),
    ("plate_read", "read"),
)  # fmt: skip
_HEAD = f"{'':15}" + "".join(f"{title:>10}" for _, title in _COLUMNS) + "\n"


def row(title: str, found: Result) -> str:
    """A row of the table."""
    return f"{title:15}" + "".join(f"{found.counts[key]:>10}" for key, _ in _COLUMNS) + "\n"


def _seconds() -> float:
    export = export_of(1, 0, container="delimited", size=2000)
    began = time.perf_counter()
    measured = measure(export)
    return measured.seconds or time.perf_counter() - began


if __name__ == "__main__":
    sys.exit(main())
