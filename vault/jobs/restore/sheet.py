"""The restore sheet: one HTML file to work by at the cabinet, on a phone or on paper."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.jobs.paper.render import grouped, moment_text, render
from vault.jobs.restore.sheet_parts import TICK
from vault.jobs.restore.sheet_sections import sections
from vault.store.files.snapshot_text import digest

if TYPE_CHECKING:
    from vault.jobs.restore.plan import RestorePlan

_LONG = 18
"""Letters that always fit a column on the phone; a longer word may have to be broken."""
_CODE = re.compile(r".*/|-|.*[-:].*\d|.*\d.*[-:]")
"""Words like 0x607C:00, mov-101, pos/accel, --adapt; not drive-side or two-channel."""


def sheet_html(plan: RestorePlan, *, is_made: bool = True) -> bytes:
    """Write the sheet: self-contained, without scripts, nothing loaded from anywhere.

    Of a plan that is only worked out, it says so instead of a number.
    """
    record, file = plan.target.record, plan.load_file
    link = plan.vault.site_record.axis_link(str(plan.address))
    return render(
        "restore/sheet.html.jinja",
        plan=plan,
        site=plan.vault.site,
        title=(plan.axis.title if plan.axis is not None else None) or "",
        taken=moment_text(record.taken_at) if record is not None else "",
        by=record.by.partition(" <")[0] if record is not None else "",
        snapshot=plan.target.snapshot.id[:10] if plan.target.snapshot is not None else "",
        made=moment_text(plan.made_at),
        number=plan.number if is_made else None,
        drive=_drive(plan),
        pieces=pieces,
        sha256=grouped(digest(file.content)) if file is not None else "",
        sections=sections(plan),
        tick=TICK,
        link=link,
        qr=_qr(link) if link is not None else "",
    )


def pieces(text: str) -> Iterator[tuple[str, str]]:
    """Words of a text and how they may break over lines: "", "whole" (a code) or "long".

    A code torn at its hyphen or colon is easily misread, so it moves to the next line as a whole.
    """
    run: list[str] = []
    for word in text.split():
        kind = "long" if len(word) > _LONG else "whole" if _CODE.match(word) else ""
        if not kind:
            run.append(word)
            continue
        if run:
            yield " ".join(run), ""
            run = []
        yield word, kind
    if run:
        yield " ".join(run), ""


def _drive(plan: RestorePlan) -> str:
    """The drive that the load file is for, as far as somebody read it off."""
    kept = None if plan.is_other_family else plan.target.nameplate.get("drive")
    firmware = f"firmware {plan.firmware}" if plan.firmware else "firmware not told"
    family = [f"family {plan.family.name}"] if plan.family is not None else []
    return ", ".join([plan.fitted.drive or kept or "type not told", firmware, *family])


def _qr(link: str) -> str:
    """A QR code as a picture inside the page (ISO/IEC 18004)."""
    import segno

    # Quiet zone of four modules (ISO/IEC 18004, from memory); white under it in the dark too.
    return segno.make(link, error="m", micro=False).svg_data_uri(scale=3, border=4, light="#fff")
