"""JSON of two machines held against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.jobs.state.document_parts import FailureDocument, failure_document
from vault.meaning.sentences import surrounding_place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.jobs.state.compare_machines import AxisPair, MachinesCompared


class PairSummaryDocument(TypedDict):
    """How much differs on two axes, less what must: parameters and what is beside them."""

    hazard: int
    """Unexpected, wrong-way, unlimited or unheld motion, or a protective function less."""

    travel: int
    """Where the axis goes."""

    unclassified: int
    """Nobody said what the parameter does."""

    dynamics: int
    """How fast, how stiff."""

    electrical: int
    """Supply, braking, thermal."""

    link: int
    """Bus and timing."""

    record: int
    """Names, serial numbers, counters."""

    expected: int
    """What differs and must."""

    equal: int
    """Parameters that are equal."""

    restated: int
    """Other numbers that say the same."""


class PairDocument(TypedDict):
    """Two axes that stand beside each other."""

    left: str
    """`machine/axis` of the left machine."""

    right: str
    """`machine/axis` of the right one."""

    summary: PairSummaryDocument
    """How much differs."""

    worst: str | None
    """The worst class, null where nothing differs but what must."""

    sentences: list[str]
    """The first two sentences of the worst difference."""

    remarks: list[str]
    """Of which side the set is not whole, or may not be."""

    address: str
    """The page of their difference."""


class PairFailureDocument(FailureDocument):
    """Two axes that cannot be compared."""

    left: str
    """`machine/axis` of the left machine."""

    right: str
    """`machine/axis` of the right one."""


class ExpectedDocument(TypedDict):
    """What differs between two axes and must: addresses, serial numbers, offsets of home."""

    left: str
    """`machine/axis` of the left machine."""

    right: str
    """`machine/axis` of the right one."""

    place: str
    """Code of the parameter, or the path beside the parameters."""

    name: str
    """Its name."""

    explanation: str
    """What both have, in words."""


class MachineComparisonDocument(TypedDict):
    """One machine against another: `compare MACHINE MACHINE`."""

    machines: list[str]
    """The left machine and the right one."""

    pairs: list[PairDocument]
    """Axes that stand beside each other, worst first."""

    only_left: list[str]
    """Axes of the left machine without a partner."""

    only_right: list[str]
    """Axes of the right machine without a partner."""

    retired: list[str]
    """Axes out of use that would be partners of those without one."""

    without_snapshot: list[str]
    """Axes that have a partner and no snapshot yet."""

    failures: list[PairFailureDocument]
    """Pairs that cannot be compared."""

    expected: list[ExpectedDocument]
    """What differs and must, pair by pair."""


def machines_document(compared: MachinesCompared) -> MachineComparisonDocument:
    """Two machines, their pairs worst first."""
    return {
        "machines": [compared.left, compared.right],
        "pairs": [_pair_document(pair) for pair in compared.pairs],
        "only_left": list(map(str, compared.only_left)),
        "only_right": list(map(str, compared.only_right)),
        "retired": list(map(str, compared.retired.values())),
        "without_snapshot": list(map(str, compared.without_snapshot)),
        "failures": [
            {"left": str(left), "right": str(right), **failure_document(error)}
            for (left, right), error in compared.failures.items()
        ],
        "expected": [one for pair in compared.pairs for one in _expected_documents(pair)],
    }


def _pair_document(pair: AxisPair) -> PairDocument:
    counts, comparison = pair.counts, pair.compared.comparison
    return {
        "left": str(pair.left),
        "right": str(pair.right),
        "summary": {
            "hazard": counts["hazard"],
            "travel": counts["travel"],
            "unclassified": counts["unclassified"],
            "dynamics": counts["dynamics"],
            "electrical": counts["electrical"],
            "link": counts["link"],
            "record": counts["record"],
            "expected": pair.expected,
            "equal": comparison.equal,
            "restated": comparison.summary()["restated"],
        },
        "worst": pair.worst,
        "sentences": pair.sentences,
        "remarks": list(pair.remarks),
        "address": pair.address,
    }


def _expected_documents(pair: AxisPair) -> Iterator[ExpectedDocument]:
    sides = str(pair.left), str(pair.right)
    for change in pair.apart.own_changes:
        yield {
            "left": sides[0],
            "right": sides[1],
            "place": change.shown.code,
            "name": change.shown.name,
            "explanation": change.explanation,
        }
    for around in pair.apart.own_places:
        yield {
            "left": sides[0],
            "right": sides[1],
            "place": around.path,
            "name": surrounding_place(around.path),
            "explanation": around.explanation,
        }
