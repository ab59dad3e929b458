"""`python -m tests.traces --cases 1000 --seed 1`: what traces tell against simulated axes."""

from __future__ import annotations

import argparse
import sys

from tests.traces.agreement import lines, run


def main() -> int:
    """Run, and leave with 1 where a figure is told and wrong."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.traces",
        description="Hold every figure that a trace tells against the simulated axis it is of.",
        epilog="Example: python -m tests.traces --cases 1000 --seed 7",
    )
    parser.add_argument("--cases", type=int, default=1000, help="how many traces (1000)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other traces (1)")
    parser.add_argument("--reasons", action="store_true", help="why what is not told is not")
    asked = parser.parse_args()
    report = run(asked.seed, asked.cases)
    sys.stdout.writelines(f"{line}\n" for line in lines(report))
    if asked.reasons:
        for name, outcome in report.outcomes.items():
            for reason, count in outcome.reasons.most_common():
                sys.stdout.write(f"{name}: {count} x {reason}\n")
    return 1 if report.misses else 0


if __name__ == "__main__":
    sys.exit(main())
