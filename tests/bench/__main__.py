"""`python -m tests.bench`: measure and print the table."""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from tests.bench import growth, rows_margins, rows_spread, rows_verify, rows_viewer  # noqa: F401
from tests.bench.rows import ROWS
from tests.bench.stage import Stage
from tests.bench.table import Measured, as_json, as_text


def main() -> None:
    """Measure the rows asked for, one after the other."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="smaller sets, under a minute")
    parser.add_argument("--json", action="store_true", help="one JSON document on stdout")
    parser.add_argument(
        "--only", action="append", choices=[*ROWS, "growth"], metavar="NAME",
        help=f"only this row, more than once for several: {', '.join(ROWS)}; or, alone, "
        "growth: what every question takes in small and large vaults",
    )  # fmt: skip
    parser.add_argument(
        "--sizes", type=int, nargs="+", default=growth.SIZES, metavar="AXES", help="of growth"
    )
    parser.add_argument("--folder", type=Path, help="of growth: keep its vaults for the next time")
    asked = parser.parse_args()
    if "growth" in (asked.only or ()):
        with tempfile.TemporaryDirectory(prefix="axisvault-growth-") as folder:
            kept: Path = asked.folder or Path(folder)
            kept.mkdir(parents=True, exist_ok=True)
            table = growth.measured(kept, asked.sizes)
        text = json.dumps(growth.as_json(table), indent=2) if asked.json else growth.as_text(table)
        print(text)
        return
    measured: list[Measured] = []
    with tempfile.TemporaryDirectory(prefix="axisvault-bench-") as folder:
        stage = Stage(Path(folder), asked.quick)
        for name in asked.only or ROWS:
            print(f"measuring {name} …", file=sys.stderr)
            measured.append(Measured(ROWS[name], ROWS[name].measure(stage)))
    print(json.dumps(as_json(measured), indent=2) if asked.json else as_text(measured))


if __name__ == "__main__":
    main()
