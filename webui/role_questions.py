"""What a person is asked about the role of a parameter: what is proposed, how surely, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.families.confirm_roles import confidence_words
from vault.jobs.families.hazard_roles import needs_confirmation
from vault.meaning.consequences import usual_consequence
from vault.model import roles

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft
    from vault.jobs.drafting.parameters import DraftParameter
    from vault.jobs.families.confirm_roles import RoleToConfirm, ValueOfAxis


@dataclass(frozen=True, slots=True)
class Offer:
    """A role that is proposed: its title for people, how sure that is in words, and why."""

    role: str
    title: str
    sure: str
    reason: str


@dataclass(frozen=True, slots=True)
class RoleQuestion:
    """A parameter whose role a person is asked for.

    `shown` is its value in the export, `values` what it is on axes now. `said` is what was
    answered: None for nothing, empty for no role. `consequence` is of what was said, else of the
    first of `offers`.
    """

    code: str
    name: str
    offers: tuple[Offer, ...]
    shown: str = ""
    said: str | None = None
    values: tuple[ValueOfAxis, ...] = ()

    @property
    def role(self) -> str:
        """The role in question, empty for none."""
        return self.said or (self.offers[0].role if self.offers else "")

    @property
    def consequence(self) -> str:
        """What a change of it counts as."""
        return usual_consequence(roles.find(self.role) if self.role else None)

    @property
    def is_hazard(self) -> bool:
        """Whether a change of it can be a hazard."""
        return bool(self.role) and needs_confirmation(self.role)

    @property
    def said_title(self) -> str:
        """What was said, for people."""
        return _title(self.said) if self.said else "no role"


def of_draft(draft: Draft, said: dict[str, str], most: int) -> Iterator[RoleQuestion]:
    """Parameters of a draft to ask about: those on which most depends first, and all answered."""
    waiting = list(draft.to_confirm)
    open_ones = [one for one in waiting if one.code not in said][:most]
    yield from (_of_draft(one, None) for one in open_ones)
    yield from (_of_draft(one, said[one.code]) for one in draft.parameters if one.code in said)


def _of_draft(one: DraftParameter, said: str | None) -> RoleQuestion:
    offers = tuple(_offer(s.role, s.confidence, s.reason) for s in one.suggested)
    shown = f"{one.shown} {one.unit}" if one.unit else one.shown
    return RoleQuestion(one.code, one.name, offers, shown, said)


def of_family(waiting: Iterable[RoleToConfirm]) -> list[RoleQuestion]:
    """Parameters of a dictionary whose suggested role waits."""
    return [
        RoleQuestion(
            one.code, one.parameter.name, (_offer(one.role, one.confidence, one.reason),),
            values=one.values,
        )
        for one in waiting
    ]  # fmt: skip


def _offer(role: str, confidence: float | None, reason: str) -> Offer:
    number = "" if confidence is None else f" ({confidence:.2f})"
    return Offer(role, _title(role), f"{confidence_words(confidence)}{number}", reason)


def _title(role: str) -> str:
    known = roles.find(role)
    return known.title if known is not None else role
