"""JSON of long work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from webui.documents import CameOfWork

if TYPE_CHECKING:
    from collections.abc import Iterable

    from webui.background_work import Work


class WorkBegunDocument(TypedDict):
    """Long work that has begun behind the pages."""

    work: str
    """Its id, by which it is asked for."""


class WorkDocument(TypedDict):
    """Long work: how far it is, and what came of it."""

    id: str
    """Its id."""

    title: str
    """What it is, in words."""

    account: str
    """The account that began it."""

    begun: str
    """When it began."""

    state: str
    """`waiting`, `running`, `done`, `failed`, or `stopped` with its process."""

    done: int
    """How much of it is done."""

    total: int
    """How much there is to do, 0 while that is not known."""

    ended: str | None
    """When it ended."""

    sentences: list[str]
    """What came of it, in words."""

    link: str | None
    """The page to go on with."""

    file: str | None
    """Name of the file that came of it, which its address gives."""

    data: CameOfWork
    """What came of it."""


class WorksDocument(TypedDict):
    """The work of an account."""

    work: list[WorkDocument]
    """The latest first."""


def work_begun_document(work: Work) -> WorkBegunDocument:
    """Work that has begun."""
    return {"work": work.id}


def work_document(work: Work) -> WorkDocument:
    """Work as it stands."""
    return {
        "id": work.id,
        "title": work.title,
        "account": work.account,
        "begun": work.begun,
        "state": work.state,
        "done": work.done,
        "total": work.total,
        "ended": work.ended,
        "sentences": list(work.sentences),
        "link": work.link,
        "file": work.file,
        "data": work.data,
    }


def works_document(works: Iterable[Work]) -> WorksDocument:
    """The work of an account."""
    return {"work": [work_document(work) for work in works]}
