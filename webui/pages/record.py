"""The axis record as a form: what is typed, what follows from it, and storing it; as a file too."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from flask import Response, request

from vault.jobs.axis_form.documents import axis_form_document
from vault.jobs.axis_form.fields import BY_APPROVER, FREE, MOVE_KEYS, Field, field_names, groups
from vault.jobs.axis_form.follows import follows
from vault.jobs.axis_form.store import Form, open_form, store_file, store_form
from vault.jobs.axis_form.typed import move_rows, rows
from vault.jobs.records.axis_template import axis_template
from vault.jobs.records.documents import axis_added_document
from vault.meaning.margin_text import title_of
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.wording import capitalised, plural
from vault.store.files import layout
from vault.store.vault import Vault
from webui.page import FormResult, Page, axis_crumbs
from webui.request_fields import form_field, query_arg, required_field
from webui.visitors import may

if TYPE_CHECKING:
    from vault.jobs.records.edit import RecordAdded
    from vault.model.accounts import Account

FIELDS = field_names()
"""Every field that always stands in the form, with what it is."""
_FIRST_FACTS = 7  # that are seen before the rest is opened; `record.js` knows it too
_LISTS = ("duty.moves.", "margins.", *(f"{name}{mark}" for name in FREE for mark in ".+"))


def record(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The form of an axis record, and what follows from what stands in it."""
    address = vault.require_whole_axis(Address.parse(f"{machine_name}/{axis_name}"))
    sent = _sent(request.form if request.method == "POST" else request.args)
    form = open_form(vault, address, sent)
    found = follows(vault, address, form.record, form.stored)
    return Page(
        "record.html",
        f"Record of {address}",
        lambda: axis_form_document(str(address), form, found),
        {
            "address": address,
            "form": form,
            "follows": found,
            "first_facts": _FIRST_FACTS,
            "groups": groups(),
            "extra": _extra(form),
            "place_of": place_of,
            "move_rows": move_rows(form.values),
            "move_keys": MOVE_KEYS,
            "floor_rows": rows(form.values, "margins"),
            "margin_names": _margin_names(),
            "axes": [one for one in vault.axes() if one != address],
            "family": query_arg("family"),
            "by_approver": BY_APPROVER,
            "approves": may("approver"),
            "is_allowed": may("technician"),
            "was_sent": bool(sent),
            "elsewhere": _without_a_field(form),
        },
        axis_crumbs(machine_name, axis_name),
    )


def _sent(fields: Mapping[str, str]) -> dict[str, str]:
    """What of a request is a field of the record."""
    return {name: fields[name] for name in fields if name in FIELDS or name.startswith(_LISTS)}


def place_of(name: str) -> str:
    """Where on the page a key is entered: its field, the first of its own, else its section."""
    first = next((one for one in FIELDS if one.startswith(f"{name}.")), None)
    if name not in FIELDS and "." in name and first is not None:
        name = first
    return f"f-{name if name in FIELDS else name.partition('.')[0]}"


def _without_a_field(form: Form) -> list[str]:
    """Problems that are about no field, but about several together."""
    return [
        f"{key.replace('_', ' ').replace('.', ': ')}: {why}"
        for key, why in form.problems.items()
        if key not in form.values and key not in FIELDS
    ]


def _extra(form: Form) -> dict[str, list[Field]]:
    """Names that a person gave to entries of the sections whose names are free."""
    found: dict[str, list[Field]] = {section: [] for section in FREE}
    for name in form.values:
        section, point, key = name.partition(".")
        if point and section in found and name not in FIELDS:
            label = capitalised(key.replace("_", " "))
            found[section].append(Field(name, label, "", "", "text"))
    return found


def _margin_names() -> list[tuple[str, str]]:
    from vault.behaviour.behave import load_themes
    from vault.behaviour.facts import MARGINS

    load_themes()
    return [(name, title_of(name)) for name in MARGINS]


def change_record(vault: Vault, account: Account, machine_name: str, axis_name: str) -> FormResult:
    """Work out what follows, store what was typed, or store a file that was edited."""
    address = vault.require_whole_axis(Address.parse(f"{machine_name}/{axis_name}"))
    approves = account.may("approver")
    match required_field("do"):
        case "look":
            form = open_form(vault, address, _sent(request.form))
            found = follows(vault, address, form.record, form.stored)
            return FormResult(None, "", axis_form_document(str(address), form, found))
        case "store":
            version, sent = form_field("version") or "", _sent(request.form)
            added = store_form(vault, address, sent, version, account.person, approves=approves)
        case "file":
            sent_file = request.files.get("record")
            if sent_file is None or not sent_file.filename:
                raise WrongUsage("no file was sent", hint="choose the edited axis.yaml")
            added = store_file(
                vault, address, sent_file.stream.read(), sent_file.filename, account.person,
                approves=approves,
            )  # fmt: skip
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")
    where = f"/axis/{address}"
    if vault.latest(address) is None:  # what is left to do
        family = form_field("family")
        where = f"/take-in?axis={address}" + (f"&family={family}" if family else "")
    words = " ".join(_words(added))
    return FormResult(where, words, axis_added_document(str(address), added))


def _words(added: RecordAdded) -> Iterator[str]:
    if added.unchanged:
        yield "Nothing was changed."
    else:
        changed = f", {plural(len(added.changes), 'change')}" if added.changes else ""
        yield f"The record is stored{changed}."
    yield from (f"{capitalised(remark)}." for remark in added.remarks)


def record_file(vault: Vault, machine_name: str, axis_name: str) -> Page:
    """The record as a file; of an axis without one a form to fill in."""
    address = vault.require_whole_axis(Address.parse(f"{machine_name}/{axis_name}"))
    content = vault.read(layout.axis_file(address))
    answer = Response(
        axis_template(vault, address) if content is None else content,
        mimetype="application/octet-stream",
    )
    name = f"{'-'.join(address.shown)}.yaml"
    answer.headers.set("Content-Disposition", "attachment", filename=name)
    return Page("", "", dict, raw=answer)
