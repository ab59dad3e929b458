"""Cut files and see that no piece is taken for the whole.

Every export of the example plant, and every DCF and EDS that the library canopen writes or ships,
is cut at the begin of each section, of each of the last rows, and at bytes by chance. Each piece is
judged alone, and as the export of an axis that has the whole file already. Leaves with 1 where one
passes in silence.

refused        by the reader, or by a guard of the intake
told           by a remark, a warning, or parameters that are known as defaults
as the whole   refused or told just as the whole file is: it has faults of its own
nothing lost   all parameters and the nameplate are there: blanks, an end of line, a closing key
nothing tells  a table without a count, a closing line and an export before, cut between two rows
silent         none of these

Example: python -m tests.cuts --count 50 --seed 3
"""

from __future__ import annotations

import argparse
import sys

from tests.cuts.campaign import run
from tests.cuts.subjects import (
    Subject,
    lists_between,
    of_the_library,
    of_the_plant,
    shipped_with_the_library,
)
from tests.library_files import NotFetched


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.cuts",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "--count", type=int, default=200, help="bytes by chance a file (%(default)s)"
    )
    parser.add_argument("--seed", type=int, default=1, help="another seed, other bytes (1)")
    return parser.parse_args()


def _subjects() -> list[Subject]:
    plant = list(of_the_plant())
    found = [*plant, *lists_between(plant), *of_the_library()]
    try:
        found += shipped_with_the_library()
    except NotFetched as why:
        print(f"tests.cuts: without the files that are shipped: {why}", file=sys.stderr)
    return found


def main() -> None:
    """Cut, judge, print."""
    asked = _parse()
    tally = run(_subjects(), asked.count, asked.seed, lambda text: print(text, file=sys.stderr))
    print(tally.text)
    sys.exit(1 if tally.silent else 0)


if __name__ == "__main__":
    main()
