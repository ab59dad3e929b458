"""Serve a vault, let many people read and some take exports in, and say what came of it.

The viewer runs as people run it, in a process of its own on a free port of this machine. Readers
turn to pages of every kind, each with its style and scripts; every other writer uses the form in
a browser, the others the command line. Afterwards every export is looked up in the vault, and
`axisvault verify` must find nothing. Memory and open files may not grow once the first third is
over, which is judged in runs of three minutes and more.

Leaves with 1 where something is wrong, and tells what; vault and log are kept then. On a machine
that does something else, latencies are not worth much; errors, lost exports and growth are.
"""

from __future__ import annotations

import argparse
import json
import shutil
import sys
import tempfile
from pathlib import Path

from tests.load.browser import NoAnswer
from tests.load.campaign import Plan, run
from tests.load.plot import draw
from tests.load.report import as_json, lines

_EXAMPLES = """\
examples:
  python -m tests.load
      200 readers and 8 writers on 1,000 axes, for ten minutes
  python -m tests.load --minutes 1 --readers 40 --axes 100
  python -m tests.load --folder ../vaults --json load.json --svg load.svg
      the vault is made once, and kept in that folder for the next time
"""


def main() -> int:
    """Run, print, and leave with 1 where something is wrong."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.load",
        description=__doc__,
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    usual = Plan()
    parser.add_argument(
        "--minutes", type=_above_zero, default=usual.seconds / 60, help="how long (%(default)g)"
    )
    parser.add_argument(
        "--readers", type=_count, default=usual.readers, metavar="N",
        help="how many read, each a page every 10 s (%(default)s); one machine may have 400 "
        "connections",
    )  # fmt: skip
    parser.add_argument(
        "--writers", type=_count, default=usual.writers, metavar="N",
        help="how many take exports in, each one every 30 s (%(default)s)",
    )  # fmt: skip
    parser.add_argument(
        "--axes", type=_count, default=usual.axes, metavar="N", help="of the vault (%(default)s)"
    )
    parser.add_argument("--seed", type=int, default=1, help="another seed, other pages (1)")
    parser.add_argument("--folder", type=Path, help="keep the vault here, and take it from here")
    parser.add_argument("--json", type=Path, metavar="FILE", help="write all figures as JSON")
    parser.add_argument("--svg", type=Path, metavar="FILE", help="draw latency, memory and files")
    asked = parser.parse_args()
    plan = Plan(
        axes=asked.axes,
        readers=asked.readers,
        writers=asked.writers,
        seconds=60 * asked.minutes,
        seed=asked.seed,
    )
    if plan.is_too_much:
        parser.error(plan.is_too_much)
    folder = asked.folder or Path(tempfile.mkdtemp(prefix="axisvault-load-"))
    is_kept = asked.folder is not None
    try:
        report = run(folder.resolve(), plan, _tell)
        is_kept = is_kept or report.kept is not None
    except NoAnswer as error:
        print(f"The viewer does not even answer while it is idle: {error}")
        return 1
    finally:
        if not is_kept:
            shutil.rmtree(folder, ignore_errors=True)
    print("\n".join(lines(report)))
    if asked.json is not None:
        asked.json.write_text(json.dumps(as_json(report), indent=1) + "\n")
    if asked.svg is not None:
        asked.svg.write_text(draw(report))
    return 1 if report.problems else 0


def _tell(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


def _count(text: str) -> int:
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError("at least 1")
    return number


def _above_zero(text: str) -> float:
    number = float(text)
    if not 0 < number < 1e4:
        raise argparse.ArgumentTypeError("more than 0")
    return number


if __name__ == "__main__":
    sys.exit(main())
