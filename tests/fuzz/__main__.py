"""Read hostile variants of every kind of input, and see that each is read or refused in our words.

DCF and tables, dictionaries, axis records, vault.yaml, every file that the program keeps, addresses
with queries, and bundles: cut, doubled, with signs, numbers and names that mean something else.
Leaves with 1 where something ended in an exception that is not ours, took longer than ten seconds,
or the memory grew by more than 300 MB.

Example: python -m tests.fuzz --minutes 5 --seed 7
"""

from __future__ import annotations

import argparse
import logging
import sys
import tempfile
import time
from pathlib import Path

from tests.fuzz.campaign import Report, lines, run
from tests.fuzz.targets import targets
from vault.jobs.demo.demo import build_demo

_ROUNDS = 20  # of a hundred inputs each, between two looks at the clock


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.fuzz",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--minutes", type=float, default=1.0, help="how long (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other inputs (1)")
    return parser.parse_args()


def main() -> None:
    """Fuzz, print."""
    asked = _parse()
    logging.disable(logging.CRITICAL)  # pages log what they refuse
    end = time.monotonic() + asked.minutes * 60
    whole, number = Report(), asked.seed * 1000
    with tempfile.TemporaryDirectory() as folder:
        build_demo(Path(folder) / "plant", lambda done, wanted: None)
        with targets(Path(folder) / "plant", Path(folder)) as wanted:
            run(wanted, 1, number)  # loads what is loaded late
            while time.monotonic() < end:
                number += 1
                _add(whole, run(wanted, _ROUNDS, number))
                print(f"{sum(whole.inputs.values()):,} inputs", file=sys.stderr)
    print("\n".join(lines(whole)))
    sys.exit(0 if whole.is_clean else 1)


def _add(whole: Report, part: Report) -> None:
    whole.inputs += part.inputs
    whole.refused += part.refused
    whole.grown_bytes += part.grown_bytes
    for name, spent in part.longest.items():
        whole.longest[name] = max(spent, whole.longest.get(name, 0.0))
    for key, finding in part.findings.items():
        whole.findings.setdefault(key, finding)


if __name__ == "__main__":
    main()
