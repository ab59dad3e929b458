"""What a page is: a function of an open vault that gives a template, its content, and its data.

A page with a form has a second function, which does what was asked for and says where to go on.
Both have one address; the same address below `/api/v1` gives JSON. `webui.routing` serves them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from flask import Response


@dataclass(frozen=True, slots=True)
class Page:
    """A page that is ready to be shown. `crumbs` are names and addresses, from the site on.

    `data` gives the same as JSON; `raw` is a page that needs no template. With `refresh` a
    browser without scripts looks again after so many seconds, and one with them asks for the data.
    """

    template: str
    title: str
    data: Callable[[], Mapping[str, object]]
    content: dict[str, Any] = field(default_factory=dict)
    crumbs: tuple[tuple[str, str], ...] = ()
    raw: Response | None = None
    refresh: int | None = None


@dataclass(frozen=True, slots=True)
class FormResult:
    """What became of a form that was sent: the page to go on with, in words, and as JSON.

    Without an `address` nothing was done: its own page is shown, with what was typed. `next` are
    words and addresses by which people usually go on from there.
    """

    address: str | None
    words: str
    data: Mapping[str, object] = field(default_factory=dict)
    next: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """The form of a page: who may send it, with which fields; `files` are those that carry some,
    and the `required` ones must be filled.

    `submit` gets the open vault, the account and the parts of the address. Without a `role`
    everybody may send it (and there is no account); without a `summary` it is no part of the API,
    else its answer there is a `document`.
    """

    submit: Callable[..., FormResult]
    role: str | None
    summary: str = ""
    fields: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    required: tuple[str, ...] = ()
    document: object = None


@dataclass(frozen=True, slots=True)
class Route:
    """An address, the function that makes its page, and what may be asked for in the address.

    A page without a `summary` has no data of its own, else these are a `document`. One that is not
    `guarded` is shown to everybody.
    """

    rule: str
    make: Callable[..., Page]
    summary: str = ""
    query: Mapping[str, str] = field(default_factory=dict)
    form: Form | None = None
    guarded: bool = True
    document: object = None

    @property
    def offered(self) -> list[str]:
        """Methods of the address below `/api/v1`."""
        return ["GET"] * bool(self.summary) + ["POST"] * bool(self.form and self.form.summary)

    @property
    def documents(self) -> list[object]:
        """Types of the answers of the address below `/api/v1`, in the order of its methods."""
        answers = {"GET": self.document, "POST": self.form.document if self.form else None}
        return [answers[method] for method in self.offered]


def axis_crumbs(machine_name: str, axis_name: str) -> tuple[tuple[str, str], ...]:
    """Names and addresses from the site to an axis, and on to its controller's side."""
    drive, is_controllers, _ = axis_name.partition(":")
    to_axis = (
        ("Site", "/"),
        (machine_name, f"/machine/{machine_name}"),
        (drive, f"/axis/{machine_name}/{drive}"),
    )
    if not is_controllers:
        return to_axis
    return (*to_axis, ("Controller's side", f"/axis/{machine_name}/{axis_name}"))
