"""Kill writing commands at moments by chance, and verify the vault after every one.

Whatever had ended well must be there, `verify` must find nothing, and the next command must work.
Leaves with 1 where that is not so, and names the command.

With --full-disk the commands run to their end, on a disk that has less and less room.

Example: python -m tests.kills --count 10000 --seed 3
         python -m tests.kills --full-disk 50
"""

from __future__ import annotations

import argparse
import os
import sys

from tests.kills.campaign import lines, run
from tests.kills.full_disk import fill


def main() -> None:
    """Kill, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.kills",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--count", type=int, default=500, help="how many kills (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other moments (1)")
    parser.add_argument("--full-disk", type=int, metavar="N", help="at so many fill levels")
    asked = parser.parse_args()
    os.environ.setdefault("AXISVAULT_BY", "Mira Okafor <mira@tileworks.example>")
    if asked.full_disk is not None:
        report = fill(asked.full_disk, asked.seed)
    else:
        report = run(asked.count, asked.seed, lambda text: print(text, file=sys.stderr))
    print("\n".join(lines(report, "killed" if asked.full_disk is None else "failed")))
    sys.exit(1 if report.problems else 0)


if __name__ == "__main__":
    main()
