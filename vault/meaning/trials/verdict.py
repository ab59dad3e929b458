"""What came out of a trial: a finding for each check, and what is still open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.meaning.changes import Finding
    from vault.meaning.measured_move import TravelSuspect
    from vault.meaning.trials.questions import Question

Outcome = Literal["passed", "failed", "told", "open"]
"""`told`: it is measured, and nothing is there to hold it against, or it need not be."""
Standing = Literal["passed", "failed", "open"]


@dataclass(frozen=True, slots=True)
class TrialFinding:
    """What a check came to; `consequence` is the class of one that failed, else empty.

    `figures` are what was measured and what it was held against, each with its basis.
    """

    check: str
    outcome: Outcome
    sentence: str
    consequence: str = ""
    figures: tuple[Finding, ...] = ()
    suspects: tuple[TravelSuspect, ...] = ()
    remark: str | None = None


@dataclass(frozen=True, slots=True)
class TrialVerdict:
    """All findings of a trial in the safe order, and the questions that nobody answered."""

    findings: tuple[TrialFinding, ...]
    open: tuple[Question, ...]

    @property
    def failed(self) -> tuple[TrialFinding, ...]:
        """What failed."""
        return tuple(found for found in self.findings if found.outcome == "failed")

    @property
    def is_whole(self) -> bool:
        """Whether all that is asked is answered."""
        return not self.open

    @property
    def has_passed(self) -> bool:
        """Whether it is whole and nothing failed."""
        return self.is_whole and not self.failed

    @property
    def standing(self) -> Standing:
        """In a word: failed before open, open before passed."""
        if self.failed:
            return "failed"
        return "passed" if self.is_whole else "open"

    @property
    def summary(self) -> str:
        """In a sentence."""
        count = len({found.check for found in self.findings})
        checks = plural(count, "check")
        left = plural(len(self.open), "question is open", "questions are open")
        if self.failed:
            failed = plural(len(self.failed), "finding failed", "findings failed")
            return f"{failed} of {checks}; {left}." if self.open else f"{failed} of {checks}."
        if self.open:
            return f"Nothing failed in {checks}; {left}."
        return f"Passed: {checks}, nothing is open."
