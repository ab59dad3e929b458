"""Change the code of a package in small ways and see whether its tests notice.

A sample of places is changed, one at a time, in copies of this checkout; for each the tests that go
through it are run, quick ones first. The first run also records which tests those are, which takes
about twice as long as the tests; the record is kept until a file changes.
Ctrl-C ends the run and reports what was tried until then.

Example: python -m tests.mutation vault.store --sample 100 --seed 1
"""

from __future__ import annotations

import argparse
import json
import os
import signal
import sys
import time
from pathlib import Path

from tests.mutation.mutants import modules_of, places, sample
from tests.mutation.recording import recorded
from tests.mutation.report import Report
from tests.mutation.trial import Result, try_all

ROOT = Path(__file__).parents[2]


def parse() -> argparse.Namespace:
    """The command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.mutation",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("package", metavar="PACKAGE", help="package or module: vault.jobs.intake")
    parser.add_argument("--sample", type=int, default=300, help="places to change (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other places (1)")
    parser.add_argument(
        "--tests", action="append", metavar="PATH", help="only these tests take part (all)"
    )
    parser.add_argument(
        "--workers", type=int, default=os.cpu_count() or 1, help="at a time (one per core)"
    )
    parser.add_argument(
        "--seconds", type=float, default=60, help="for the tests of one change (%(default)s)"
    )
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")
    return parser.parse_args()


class Progress:
    """Says after each change how far it is and how long the rest may take."""

    def __init__(self, wanted: int) -> None:
        self.results: list[Result] = []
        self._wanted, self._since = wanted, time.monotonic()

    def told(self, result: Result) -> None:
        """Note one more result."""
        self.results.append(result)
        done = len(self.results)
        left = (time.monotonic() - self._since) / done * (self._wanted - done) / 60
        print(
            f"{done}/{self._wanted} {result.end:8} {result.mutant.path}:{result.mutant.line}"
            f" · about {left:.0f} min left",
            file=sys.stderr,
        )


def main() -> None:
    """Sample, try, report."""
    asked = parse()
    try:
        among = places(ROOT, modules_of(ROOT, asked.package))
    except LookupError as problem:
        sys.exit(f"tests.mutation: {problem.args[0]}")
    mutants = sample(among, asked.sample, asked.seed)
    recording = recorded(ROOT, ["vault", "webui"], asked.tests or ["tests"], asked.workers)
    progress = Progress(len(mutants))
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # as Ctrl-C, so that it reports
    try_all(
        ROOT, mutants, recording, workers=asked.workers, seconds=asked.seconds, told=progress.told
    )
    report = Report(asked.package, len(among), len(mutants), asked.seed, progress.results)
    print(json.dumps(report.as_json(), indent=2) if asked.json else report.as_text())


if __name__ == "__main__":
    main()
