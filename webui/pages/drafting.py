"""From an export to a dictionary: send it, see what is guessed, put it right, then store it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from flask import Response, current_app, request

from vault.jobs.drafting.draft import Draft
from vault.jobs.drafting.draft_files import check_key
from vault.jobs.drafting.own_patterns import HEAD, check_pattern
from vault.jobs.families.confirm_roles import check_role
from vault.jobs.records.edit import add_new_family
from vault.model import roles
from vault.model.errors import Refused, WrongUsage
from vault.model.visible_text import one_line
from vault.model.wording import plural
from vault.store.clock import now, parse_time, time_text
from vault.store.files.snapshot_text import digest
from vault.store.vault import Vault
from webui.draft_fields import (
    COLUMN_LABELS,
    column_fields,
    file_fields,
    foreign_words,
    number_fields,
    plate_fields,
)
from webui.drafted import MOST_EXPORTS, begin_drafting, drafting_of, file_of, read_draft
from webui.page import FormResult, Page
from webui.request_fields import form_field
from webui.role_questions import of_draft
from webui.uploads import KEPT_FOR_OTHERS, Drafting, SentFile, Upload, Uploads
from webui.visitors import may, require_account, state_folder, visitor

if TYPE_CHECKING:
    from vault.model.accounts import Account

_MOST_ROWS = 60
_MOST_FIELDS = 200
_CRUMBS = (("Site", "/"), ("Families", "/families"))


def from_export(vault: Vault) -> Page:
    """Where exports of an unknown drive are chosen."""
    content = {"is_allowed": may("technician")}
    return Page("from_export.html", "A family from an export", dict, content, _CRUMBS)


def send_to_draft(vault: Vault, account: Account) -> FormResult:
    """Keep exports and descriptions, and see whether anything can be made of them."""
    uploads = Uploads(state_folder(current_app))
    exports = [file for file in request.files.getlist("export") if file.filename]
    descriptions = [file for file in request.files.getlist("description") if file.filename]
    if not exports:
        raise WrongUsage("no export was sent", hint="choose one first")
    _check_count(exports)
    upload = uploads.keep(account.name, [*exports, *descriptions])
    try:
        for number, sent in enumerate(upload.files):
            sent.use = "draft" if number < len(exports) else "describe"
        upload.name_all()
        upload.drafting = Drafting("family")
        begin_drafting(vault, uploads, upload, form_field("name"))
    except BaseException:
        uploads.drop(upload)
        raise
    return FormResult(f"/draft/{upload.id}", "This is a proposal; nothing is stored yet.")


def _check_count(exports: Sequence[object]) -> None:
    if len(exports) > MOST_EXPORTS:
        raise WrongUsage(f"up to {plural(MOST_EXPORTS, 'export')} are drafted from at once")


def _read(uploads: Uploads, upload_id: str) -> Upload:
    """An upload that the visitor may draft from: an own one, or one left to an approver.

    Raises WrongUsage where there is none.
    """
    account = visitor()
    name = account.name if account else ""
    upload = uploads.read(upload_id, name, is_approver=may("approver"))
    drafting_of(upload)
    return upload


def drafted_family(vault: Vault, upload_id: str) -> Page:
    """What is guessed, with all that can be said to it."""
    uploads = Uploads(state_folder(current_app))
    upload = _read(uploads, upload_id)
    said, account = drafting_of(upload), visitor()
    drafted = read_draft(vault, uploads, upload, account.person if account else "")
    found = drafted.draft
    content: dict[str, Any] = {
        "upload": upload,
        "said": said,
        "drafted": drafted,
        "draft": found,
        "reads": _reads(upload, found),
        "file_fields": file_fields(found, said.answers),
        "column_fields": column_fields(found, said.answers, drafted.unread),
        "number_fields": number_fields(found, said.answers),
        "plate_fields": plate_fields(found, said.answers),
        "places": _pattern_places(found),
        "column_names": {place: COLUMN_LABELS[name] for name, place in _places(found)},
        "foreign_words": foreign_words(found) if found else [],
        "questions": list(of_draft(found, said.roles, _MOST_ROWS)) if found else [],
        "lost": sorted(said.roles.keys() - {one.code for one in found.parameters}) if found else [],
        "given": sum(parameter.role is not None for parameter in found.parameters) if found else 0,
        "roles": [role.name for role in roles.all_roles()],
        "may_store": may("approver"),
        "may_change": may("approver") or not upload.waits_for_approver,
        "is_own": account is not None and account.name == upload.account,
        "asked_at": parse_time(said.asked_at) if said.asked_at else None,
        "kept_until": uploads.kept_until(upload),
        "days_for_others": KEPT_FOR_OTHERS.days,
        "seen": _seen(upload),
    }
    return Page("draft.html", f"Draft of {said.name}", dict, content, _CRUMBS)


def _pattern_places(found: Draft | None) -> list[str]:
    """Where else a pattern may be looked for: fields of the nameplate, and the first lines."""
    if found is None:
        return []
    fields = dict.fromkeys(found.export.get("nameplate", {}).values())
    taken = {*found.export.get("recognise", {}), "taken_at", "note"}
    return [place for place in (*fields, HEAD) if place not in taken]


def _places(found: Draft | None) -> Iterator[tuple[str, int]]:
    yield from ((n, p) for n, p in found.places.items() if n in COLUMN_LABELS) if found else ()


def _reads(upload: Upload, found: Draft | None) -> dict[str, Any]:
    """What is read of each file, by its key in forms."""
    used = upload.drafted_from
    return {sent.key: read for sent, read in zip(used, found.reads if found else (), strict=False)}


def draft_file(vault: Vault, upload_id: str) -> Page:
    """The dictionary as a file, for whoever goes on with it there."""
    uploads = Uploads(state_folder(current_app))
    upload = _read(uploads, upload_id)
    account = visitor()
    drafted = read_draft(vault, uploads, upload, account.person if account else "")
    if drafted.problem is not None and not drafted.content:
        raise drafted.problem
    answer = Response(drafted.content, mimetype="text/plain; charset=utf-8")
    answer.headers.set("Content-Disposition", "attachment", filename=file_of(upload))
    return Page("", "Draft", dict, raw=answer)


def change_draft(vault: Vault, account: Account, upload_id: str) -> FormResult:
    """Keep what was said, and draft anew; or put the dictionary into the vault.

    Who may not put it in leaves it to somebody who may, and changes nothing while that lasts.
    """
    uploads = Uploads(state_folder(current_app))
    upload, lock = uploads.claimed(upload_id, account.name, is_approver=account.may("approver"))
    try:
        said, do = drafting_of(upload), form_field("do")
        here = f"/draft/{upload_id}"
        is_own = upload.account == account.name
        if do == "forget" and is_own:
            return _forget(uploads, upload, said)
        if do == "take-back" and is_own:
            said.asked_at = said.asked_by = ""
            uploads.note(upload)
            return FormResult(here, "It waits for nobody now; nothing is stored yet.")
        if do == "send-back" and not is_own:
            return _send_back(uploads, upload, said, account)
        if upload.waits_for_approver and not account.may("approver"):
            raise Refused("this draft waits for an approver", hint="take it back to change it")
        if do == "anew":
            said.answers, said.recognise = {}, None
            uploads.note(upload)
            return FormResult(here, "All is guessed again; nothing is stored yet.")
        is_as_seen = not upload.waits_for_approver or form_field("seen") == _seen(upload)
        before = _shown_first(upload)
        said.name = form_field("name") or said.name
        said.title = form_field("title") or ""
        said.answers |= dict(_answers())
        for key in _unsaid():
            said.answers.pop(key, None)
        _choose(upload)
        _take_patterns(said)
        _take_roles(said)
        uploads.note(upload)
        if do not in ("store", "ask"):
            return FormResult(here, "Looked again; nothing is stored yet.")
        if not is_as_seen:
            return FormResult(here, "Somebody changed it meanwhile: look again; nothing is stored.")
        if before != _shown_first(upload):
            return FormResult(here, "What you changed is shown first; nothing is stored yet.")
        if do == "ask":
            return _ask(vault, uploads, upload, account)
        return _store(vault, uploads, upload, require_account("approver"))
    finally:
        lock.release()


def _shown_first(upload: Upload) -> str:
    """What has to be seen before it is stored, where any of it changed."""
    said = drafting_of(upload)
    uses = [(sent.key, sent.use) for sent in upload.files]
    return json.dumps([said.answers, said.recognise, uses], sort_keys=True)


def _seen(upload: Upload) -> str:
    """What a draft rests on, in short: whoever stores what somebody else made must have seen it."""
    said = drafting_of(upload)
    made_of = [said.name, said.title, said.roles, _shown_first(upload)]
    return digest(json.dumps(made_of, sort_keys=True).encode())[:16]


def _ask(vault: Vault, uploads: Uploads, upload: Upload, account: Account) -> FormResult:
    """Leave a draft that could be stored to somebody who may. Raises what stands against it."""
    drafted = read_draft(vault, uploads, upload, account.person)
    if drafted.problem is not None:
        raise drafted.problem
    said = drafting_of(upload)
    said.asked_by, said.asked_at = account.person, time_text(now())
    upload.news = ""
    uploads.note(upload)
    return FormResult("/families", "The draft waits for an approver; nothing is stored yet.")


def _send_back(uploads: Uploads, upload: Upload, said: Drafting, account: Account) -> FormResult:
    """Do not store a draft that somebody else made: it is theirs again, with a word why."""
    why = one_line(form_field("why"))
    person = account.person.partition(" <")[0]
    upload.news = f"{person} did not put {said.name} into the vault{f': {why}' if why else ''}"
    said.asked_at = said.asked_by = ""
    uploads.note(upload)
    return FormResult("/families", f"The draft of {said.name} went back; nothing was stored.")


def _forget(uploads: Uploads, upload: Upload, said: Drafting) -> FormResult:
    if said.is_taken_in:
        _end_drafting(uploads, upload)
        return FormResult(f"/take-in/{upload.id}", "The draft is gone; the exports are still here.")
    uploads.drop(upload)
    return FormResult("/families", "Nothing was stored; the files are gone from here.")


def _end_drafting(uploads: Uploads, upload: Upload) -> None:
    """What was sent is for taking in again; descriptions go."""
    for sent in upload.descriptions:
        uploads.drop_file(upload, sent)
    for sent in upload.files:
        sent.use = ""
    upload.drafting = None
    uploads.note(upload)


def _store(vault: Vault, uploads: Uploads, upload: Upload, account: Account) -> FormResult:
    drafted = read_draft(vault, uploads, upload, account.person)
    if drafted.problem is not None:
        raise drafted.problem
    is_own = upload.account == account.name
    author = "" if is_own else drafting_of(upload).asked_by
    added = add_new_family(vault, drafted.content, file_of(upload), account.person, author)
    exports = upload.drafted_from
    for sent in exports:
        sent.family = added.name
    if not is_own:
        person = account.person.partition(" <")[0]
        upload.news = f"{person} put {added.name} into the vault: take the exports in"
    _end_drafting(uploads, upload)
    words = f"Family {added.name} is in the vault. "
    if is_own:
        words += f"Now take {plural(len(exports), 'export')} in."
        return FormResult(f"/take-in/{upload.id}", words)
    words += f"{author.partition(' <')[0]} finds it under Families, to take the exports in."
    return FormResult(f"/families/{added.name}", words)


def _answers() -> Iterator[tuple[str, str]]:
    """What was chosen, by the keys of what it answers. Raises WrongUsage for other keys."""
    for key, chosen in _keyed():
        if chosen.startswith("="):
            yield check_key(key), chosen[1:]


def _unsaid() -> Iterator[str]:
    """Keys of what is to be guessed."""
    yield from (key for key, chosen in _keyed() if not chosen.startswith("="))


def _keyed() -> Iterator[tuple[str, str]]:
    for number in range(_MOST_FIELDS):
        key = request.form.get(f"key-{number}")
        if key is not None:
            yield key, request.form.get(f"say-{number}", "")


def _choose(upload: Upload) -> None:
    """Take which exports it is drafted from; a form without that leaves it as it is."""
    offered = request.form.getlist("offered")
    if not offered:
        return
    wanted = request.form.getlist("use")
    chosen: list[SentFile] = [
        sent for sent in upload.files if sent.key in wanted and sent.key in offered
    ]
    if not chosen:
        raise WrongUsage("leave at least one export to draft from")
    _check_count(chosen)
    for sent in upload.files:
        if sent.use != "describe" and sent.key in offered:
            sent.use = "draft" if sent in chosen else ""


def _take_patterns(said: Drafting) -> None:
    """Take by what exports are known, where that was changed. Raises WrongUsage for no pattern."""
    patterns: dict[str, str] = {}
    is_changed = False
    for place in request.form.getlist("pattern_place"):
        before = request.form.get(f"pattern_was-{place}", "")
        pattern = request.form.get(f"pattern-{place}", before).strip()
        is_changed |= pattern != before
        if pattern:
            patterns[place] = pattern
    if added := form_field("new_pattern"):
        patterns[form_field("new_place") or HEAD] = added
        is_changed = True
    if is_changed:
        for place, pattern in patterns.items():
            check_pattern(place, pattern)
        said.recognise = patterns


def _take_roles(said: Drafting) -> None:
    """Take the roles that were answered. Raises WrongUsage for those that nobody knows."""
    for number in range(_MOST_FIELDS):
        code = request.form.get(f"code-{number}")
        if code is None:
            continue
        _take_role(
            said, code, request.form.get(f"role-{number}", ""), form_field(f"other-{number}")
        )
    if code := form_field("more_code"):
        _take_role(said, code, "none", form_field("more_role"))


def _take_role(said: Drafting, code: str, chosen: str, other: str | None) -> None:
    role = other or chosen.removeprefix("=")
    if other is None and chosen == "none":
        said.roles[code] = ""
    elif role:
        check_role(role)
        said.roles[code] = role
    else:
        said.roles.pop(code, None)
