"""How the logbook of an axis looks on a terminal: newest first."""

from __future__ import annotations

from itertools import zip_longest
from typing import TYPE_CHECKING

from vault.cli.printing import MARKS
from vault.cli.printing_tables import print_remarks, print_wrapped
from vault.cli.terminal import echo, secho
from vault.jobs.logbook.entries import KIND_WORDS
from vault.model.wording import plural
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.logbook.entries import Logbook, LogEntry


def print_logbook(book: Logbook) -> None:
    """Entries of every kind, then how many there are of each, and how to see older ones."""
    for entry in book.entries:
        _print_entry(book, entry)
        echo()
    for problem in book.problems:
        secho(f"!! {problem}", fg="red")
    counts = ", ".join(f"{KIND_WORDS[kind]} {count}" for kind, count in book.counts.items())
    print_wrapped(f"In the logbook: {counts or 'nothing yet'}.")
    if book.older:
        older = plural(book.older, "older entry", "older entries")
        echo(f"{older}: --skip {book.skipped + len(book.entries)}")


def _print_entry(book: Logbook, entry: LogEntry) -> None:
    by = f", by {entry.by.partition(' <')[0]}" if entry.by else ""
    commit = f"  [{entry.commit[:10]}]" if entry.commit else ""
    secho(f"{minute_text(entry.at)}, {book.title_of(entry)}{by}{commit}", bold=True)
    print_remarks(entry.remarks, "  ")
    for sentence in entry.sentences:
        print_wrapped(f"  {sentence}")
    marks = [f"{MARKS[consequence]} " for consequence in entry.consequences]
    for mark, sentence in zip_longest(marks, entry.changes, fillvalue=""):
        print_wrapped(f"  {mark}{sentence}", bold_up_to=4 if mark else 0)
    for note in entry.addenda:
        print_wrapped(f"  {note.beside}")
