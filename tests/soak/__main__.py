"""A day's operation of three copies in a short time, with everything going wrong that may.

Three copies of a vault take from each other in a ring: by folder, by address, by bundle. On each
a folder is watched, the viewer is asked, people note, approve, waive, take exports in, and drift
is told. Exports are whole, cut, slow, damaged, of unknown families. Processes are killed, disks
become full, index and caches are damaged, clocks step, computers stand still. Then there is peace:
the ring goes round until it is quiet, and the copies must agree, verify must find nothing, every
export that was accepted must be there once, nothing may have waited for ever or grown.

The seed decides what is drawn, and not how fast the machine is: the same one finds the same kind
of thing, not at the same moment. Leaves with 1 and a list where anything is wrong.

Example: python -m tests.soak --minutes 60 --seed 3 --svg soak.svg
         python -m tests.soak --minutes 2 --folder kept-for-a-look --json > soak.json
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.soak.campaign import soak
from tests.soak.picture import draw
from tests.soak.processes import end, of_folder


def _parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(
        prog="python -m tests.soak",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--minutes", type=float, default=2.0, help="how long (%(default)s)")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other acts (1)")
    parser.add_argument(
        "--folder", type=Path, help="an empty folder in which logs and exports stay for a look"
    )
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")
    parser.add_argument(
        "--svg", type=Path, metavar="FILE", help="a picture of memory and latency over time"
    )
    return parser.parse_args()


def main() -> None:
    """Soak, print."""
    asked = _parse()
    with tempfile.TemporaryDirectory(prefix="soak-") as temporary:
        folder = (asked.folder or Path(temporary)).resolve()
        folder.mkdir(parents=True, exist_ok=True)
        if any(folder.iterdir()):
            sys.exit(f"{folder} is not empty")
        try:
            report = soak(
                asked.minutes * 60, asked.seed, folder, lambda text: print(text, file=sys.stderr)
            )
        finally:
            for pid, _ in of_folder(folder):
                end(pid)
    if asked.svg:
        asked.svg.write_text(draw(report))
    print(json.dumps(report.document(), indent=1) if asked.json else "\n".join(report.lines()))
    if asked.json and report.problems:
        print("\n".join((f"With --seed {asked.seed}:", *report.problems)), file=sys.stderr)
    sys.exit(1 if report.problems else 0)


if __name__ == "__main__":
    main()
