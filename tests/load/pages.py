"""Which pages people turn to: kinds of them, of axes by chance, and whether an answer is whole."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from random import Random
from urllib.parse import urlencode

from tests.bench import bulk
from tests.bench.stage import PARAMETERS
from tests.load.browser import Answer
from vault.model.names import Address

Chosen = Callable[[Random, Address], str]
_CODES = [row.code for row in bulk.parameters(PARAMETERS)]
_TYPED = ("following error", "schleppfehler", "machine-00", "HZ1", "hazel", "nothing like it")

KINDS: dict[str, Chosen] = {
    "site": lambda chance, axis: "/",
    "machine": lambda chance, axis: f"/machine/{axis.machine}",
    "axis": lambda chance, axis: f"/axis/{axis}",
    "difference": lambda chance, axis: (
        "/compare?" + urlencode({"left": f"{axis}@first", "right": str(axis)})
    ),
    "search": lambda chance, axis: "/search?" + urlencode({"text": _something(chance, axis)}),
    "history": lambda chance, axis: f"/axis/{axis}/parameter/{chance.choice(_CODES)}",
    "logbook": lambda chance, axis: f"/axis/{axis}?kind={chance.choice(('snapshot', 'approval'))}",
    "drift": lambda chance, axis: f"/axis/{axis}/golden",
    "drifted": lambda chance, axis: "/?state=drifted",
    "baselines": lambda chance, axis: f"/baselines?machine={axis.machine}",
    "JSON": lambda chance, axis: f"/api/v1/axis/{axis}",
}
"""Name of each kind, and an address of it by chance."""

IDLE = "/healthz"
"""An address behind which there is no page: what asking alone takes."""


def _something(chance: Random, axis: Address) -> str:
    return chance.choice((*_TYPED, str(axis), axis.machine))


def choices(chance: Random, axes: Sequence[Address]) -> Iterator[tuple[str, str]]:
    """Kind and address, without end: each kind as often as any other, in an order by chance."""
    while True:
        kinds = list(KINDS)
        chance.shuffle(kinds)
        for kind in kinds:
            yield kind, KINDS[kind](chance, chance.choice(axes))


def fault_of(answer: Answer) -> str | None:
    """What is wrong with an answer: its status, or that it has no end."""
    if answer.status != 200:
        return f"{answer.status} instead of 200"
    if answer.kind == "application/json":
        try:
            json.loads(answer.content)
        except ValueError:
            return "no JSON"
    elif answer.kind == "text/html" and not answer.content.rstrip().endswith(b"</html>"):
        return "a page without its end"
    return None
