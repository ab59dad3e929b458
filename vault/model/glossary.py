"""A glossary: what the names of parameters are made of in one language, and the roles they go with.

Pydantic schema of `jobs/families/glossary/LANGUAGE.yaml`, which people write by hand. `words` gives
what a word means, in the words that roles are named with: a word that stands under two of them may
be either, and one under `digital input` is both. `roles` gives the names each role goes by.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from vault.model import roles
from vault.model.export_dialect import COLUMNS, NAMEPLATE_FIELDS
from vault.model.near_names import did_you_mean

_ROLES = [role.name for role in roles.all_roles()]


def _tidy(text: str) -> str:
    if text != " ".join(text.split()) or not text or not text.isprintable():
        raise ValueError("is written with single spaces, and none at its ends")
    return text


def _known(role: str) -> str:
    if role not in _ROLES:
        raise ValueError(f"unknown role {role!r}{did_you_mean(role, _ROLES)}")
    return role


def _column(name: str) -> str:
    if name not in (*COLUMNS, "channel"):
        raise ValueError(f"unknown column {name!r}{did_you_mean(name, COLUMNS)}")
    return name


def _field(name: str) -> str:
    if name not in NAMEPLATE_FIELDS:
        raise ValueError(f"unknown nameplate field {name!r}{did_you_mean(name, NAMEPLATE_FIELDS)}")
    return name


def _once(texts: tuple[str, ...]) -> tuple[str, ...]:
    twice = [text for number, text in enumerate(texts) if text in texts[:number]]
    if twice:
        raise ValueError(f"{twice[0]!r} stands here twice")
    return texts


Phrase = Annotated[str, AfterValidator(_tidy)]
Phrases = Annotated[tuple[Phrase, ...], Field(min_length=1), AfterValidator(_once)]
RoleName = Annotated[str, AfterValidator(_known)]


class Glossary(BaseModel):
    """The names of parameters in one language.

    `decimal` is the mark in its numbers. `fillers` say nothing; `endings` are those of words,
    `joints` stand between the parts of a compound; `ordinals` are words for numbers. `columns` are
    headings of tables of parameters, `nameplate` labels of what stands above one, `truths` pairs
    of words for no and yes.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    schema_: Literal["axisvault/glossary/1"] = Field(alias="schema")
    language: str = Field(pattern=r"^[a-z]{2,3}$")
    title: Phrase
    decimal: Literal[".", ","] = "."
    fillers: tuple[Phrase, ...] = ()
    endings: tuple[Phrase, ...] = ()
    joints: tuple[Phrase, ...] = ()
    ordinals: Mapping[Phrase, Annotated[int, Field(ge=1, le=99)]] = {}
    columns: Mapping[Annotated[str, AfterValidator(_column)], Phrases] = {}
    nameplate: Mapping[Annotated[str, AfterValidator(_field)], Phrases] = {}
    truths: tuple[tuple[Phrase, Phrase], ...] = ()
    words: Mapping[Phrase, Phrases]
    roles: Mapping[RoleName, Phrases]
