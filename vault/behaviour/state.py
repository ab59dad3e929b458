"""One state of an axis as behaviour asks it: values in SI by role, the axis record, its scaling.

Every question is noted, so that a fact knows by itself what it rests on; what is substituted in a
copy of a state leaves the answers standing that do not rest on it.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.scaling import Scaling, own_sizes
from vault.model.choices import chosen
from vault.model.quantities import Measure, si_number, unlike_amperes

if TYPE_CHECKING:
    from vault.behaviour.scaling import Sizes
    from vault.model.axis import AxisRecord
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

Answer = TypeVar("Answer")

SPEED = ("velocity", "angular_velocity")
RAMP = ("acceleration", "angular_acceleration")
JERK = ("jerk", "angular_jerk")
TRAVEL = ("length", "angle")
TAKEN_AS_RMS = (
    "a current in A beside one in A_rms or A_pk is taken as r.m.s., and is 0.7071 times that if "
    "it is peak"
)
SCALING = "scaling"
"""What a fact rests on that asks how numbers become motion."""


def kind_of(value: object) -> str | None:
    """Kind of a quantity of the axis record."""
    size = value.physical() if isinstance(value, Measure) else None
    return None if size is None else size.kind


class Source(Protocol):
    """What a state is read from."""

    @property
    def axis(self) -> AxisRecord | None:
        """The axis as built."""

    @property
    def scaling(self) -> Scaling:
        """How numbers become motion."""

    def find(self, role: str) -> Parameter | None:
        """The parameter that has a role."""

    def physical_of(
        self, parameter: Parameter | None, sizes: Sizes | None = None
    ) -> Physical | None:
        """A parameter in SI."""


@dataclass(frozen=True, slots=True)
class Value:
    """What a state has for a role: size in SI with its kind, bare number, choice, raw content.

    `choice` is the number in the tables of `vault.model.choices`, `unit` that of the size.
    """

    size: float | None
    kind: str | None
    number: float | None
    choice: int | None
    raw: int | str | None
    unit: str | None = None


@dataclass(slots=True)
class _Frame:
    """What was asked and hedged while one question is answered."""

    reads: set[str] = field(default_factory=set)
    hedges: dict[str, None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Known:
    """An answer, or why there is none, and what it rests on."""

    answer: object
    error: Missing | DoesNotApply | None
    reads: frozenset[str]
    hedges: tuple[str, ...]


class State:
    """A state of an axis.

    `shift` is how far every position lies elsewhere than it did, either way, in m or rad.
    """

    def __init__(
        self,
        source: Source,
        values: Mapping[str, Value | None] | None = None,
        *,
        scaling: Scaling | None = None,
        record: AxisRecord | None = None,
        shift: float = 0.0,
    ) -> None:
        self._source = source
        self._values: dict[str, Value | None] = dict(values or {})
        self._scaling = scaling
        self._sizes = own_sizes(scaling) if scaling is not None else None
        self._record = record if record is not None else source.axis
        self._shift = shift
        self._known: dict[Callable[[State], object], _Known] = {}
        self._frames: list[_Frame] = [_Frame()]

    @property
    def scaling(self) -> Scaling:
        """How numbers become motion."""
        self._note(SCALING)
        return self._scaling if self._scaling is not None else self._source.scaling

    @property
    def shift(self) -> float:
        """How far every position lies elsewhere than it did, either way."""
        self._note("shift")
        return self._shift

    def value(self, role: str) -> Value | None:
        """What the set has for a role."""
        self._note(role)
        if role not in self._values:
            self._values[role] = self._read(role)
        return self._values[role]

    def _read(self, role: str) -> Value | None:
        parameter = self._source.find(role)
        if parameter is None:
            return None
        size = self._source.physical_of(parameter, self._sizes)
        number = None if isinstance(parameter.value, str) else float(parameter.value)
        raw = parameter.raw if isinstance(parameter.raw, int | str) else None
        return Value(
            None if size is None else float(size.number()), None if size is None else size.kind,
            number, chosen(parameter), raw, None if size is None else size.unit,
        )  # fmt: skip

    def si(self, role: str, kinds: Collection[str]) -> float | None:
        """The value of a role in SI, if it is of one of the kinds."""
        found = self.value(role)
        return found.size if found is not None and found.kind in kinds else None

    def number(self, role: str) -> float | None:
        """The bare number of a role, in whatever unit it is written."""
        found = self.value(role)
        return None if found is None else found.number

    def choice(self, role: str) -> int | None:
        """The number of a choice in the tables of `vault.model.choices`."""
        found = self.value(role)
        return None if found is None else found.choice

    def raw(self, role: str) -> int | None:
        """What the drive holds, where that is a whole number."""
        found = self.value(role)
        return found.raw if found is not None and isinstance(found.raw, int) else None

    def record(self, key: str) -> object | None:
        """What the axis record says for a key like `mechanics.lead`; None without it."""
        self._note(key)
        found: Any = self._record
        for part in key.split("."):
            is_map = isinstance(found, Mapping)
            found = found.get(part) if is_map else getattr(found, part, None)
        return found  # type: ignore[no-any-return]

    def recorded(self, key: str) -> float | None:
        """A quantity of the axis record in SI."""
        found = self.record(key)
        return si_number(found) if isinstance(found, Measure) else None

    def need(self, **answers: float | None) -> None:
        """Raise Missing with the names that have no answer; `__` stands for a dot."""
        missing = [name.replace("__", ".") for name, answer in answers.items() if answer is None]
        if missing:
            raise Missing(*missing)

    def needed(self, key: str) -> float:
        """A quantity of the axis record in SI. Raises Missing."""
        found = self.recorded(key)
        if found is None:
            raise Missing(key)
        return found

    def hedge_amperes(self, *units: str | None) -> None:
        """Note how a current is taken that does not say which ampere, where others do."""
        if unlike_amperes(*units):
            self.hedge(TAKEN_AS_RMS)

    def untold(self, reason: str) -> Missing:
        """What to raise where all is entered, and still nobody can tell: the reason is noted."""
        self.hedge(reason)
        return Missing()

    def hedge(self, text: str) -> None:
        """Note what a maker may do otherwise, for the question that is being answered."""
        self._frames[-1].hedges[text] = None

    def ask(self, function: Callable[[State], Answer]) -> Answer:
        """The answer of a function of this state, reckoned once. Raises Missing, DoesNotApply."""
        known = self._known.get(function)
        if known is None:
            known = self._known[function] = self._answered(function)
        frame = self._frames[-1]
        frame.reads |= known.reads
        if known.hedges:
            frame.hedges.update(dict.fromkeys(known.hedges))
        if known.error is not None:
            raise known.error
        return known.answer  # type: ignore[return-value]

    def asked(self, function: Callable[[State], Answer]) -> Answer | None:
        """As `ask`; None where it cannot be told, or has no sense."""
        try:
            return self.ask(function)
        except (Missing, DoesNotApply):
            return None

    def told(self, function: Callable[[State], object]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What an answer rests on, and its hedges, once it was asked."""
        known = self._known[function]
        return tuple(sorted(known.reads)), known.hedges

    def shares(self, function: Callable[[State], object], other: State) -> bool:
        """Whether another state has the very same answer, as what a substitution left standing."""
        known = self._known.get(function)
        return known is not None and other._known.get(function) is known

    def _answered(self, function: Callable[[State], Answer]) -> _Known:
        answer: Answer | None = None
        error: Missing | DoesNotApply | None = None
        frame = _Frame()
        self._frames.append(frame)
        try:
            answer = function(self)
        except (Missing, DoesNotApply) as caught:
            error = caught.with_traceback(None)
        except (OverflowError, ZeroDivisionError):
            error = DoesNotApply()  # beyond 1e308 nothing is physical
        finally:
            self._frames.pop()
        return _Known(answer, error, frozenset(frame.reads), tuple(frame.hedges))

    def supposing(self, function: Callable[[State], Answer], answer: Answer) -> State:
        """A copy in which a question has this answer, with everything that rests on it."""
        copy = State(
            self._source, self._values, scaling=self._scaling, record=self._record,
            shift=self._shift,
        )  # fmt: skip
        copy._known[function] = _Known(answer, None, frozenset(), ())
        return copy

    def _note(self, name: str) -> None:
        self._frames[-1].reads.add(name)

    def substituted(
        self,
        values: Mapping[str, Value | None],
        *,
        scaling: Scaling | None = None,
        record: AxisRecord | None = None,
        shift: float | None = None,
    ) -> State:
        """A copy that has other values for some roles; with `scaling` every other number stays."""
        kept = self._values if scaling is None else {}
        copy = State(
            self._source,
            {**kept, **values},
            scaling=scaling if scaling is not None else self._scaling,
            record=record if record is not None else self._record,
            shift=self._shift if shift is None else shift,
        )
        if scaling is None and record is None:
            changed = {*values, *(() if shift is None else ("shift",))}
            copy._known = {
                function: known
                for function, known in self._known.items()
                if changed.isdisjoint(known.reads)
            }
        return copy
