"""`python -m tests.oracle --cases 100000`: the program against the oracle, as a table."""

from __future__ import annotations

import argparse
import sys

from tests.oracle.agreement import lines, run


def main() -> int:
    """Run, and leave with 1 where a figure does not fit."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.oracle",
        description="Hold every figure that the program says against simulated axes.",
        epilog="Example: python -m tests.oracle --cases 100000 --seed 7",
    )
    parser.add_argument("--cases", type=int, default=1000, help="how many axes (1000)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other axes (1)")
    asked = parser.parse_args()
    report = run(asked.seed, asked.cases)
    sys.stdout.writelines(f"{line}\n" for line in lines(report))
    return 1 if report.misses else 0


if __name__ == "__main__":
    sys.exit(main())
