"""Kill writing commands at moments by chance, and verify the vault after every one.

Whatever had ended well must be there, `verify` must find nothing, and the next command must work.
Leaves with 1 where that is not so, and names the command.

Example: python -m tests.kills --count 10000 --seed 3
"""

from __future__ import annotations

import argparse
import os
import sys

from tests.kills.campaign import lines, run


def main() -> None:
    """Kill, print."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.kills",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--count", type=int, default=500, help="how many kills (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other moments (1)")
    asked = parser.parse_args()
    os.environ.setdefault("AXISVAULT_BY", "Mira Okafor <mira@tileworks.example>")
    report = run(asked.count, asked.seed, lambda text: print(text, file=sys.stderr))
    print("\n".join(lines(report)))
    sys.exit(1 if report.problems else 0)


if __name__ == "__main__":
    main()
