"""The index: what git holds about snapshots, in SQLite for quick questions.

Derived: it can be deleted at any time, follows the branch by itself, and is rebuilt where it does
not fit. Where it cannot be written it lives in memory; where its file is damaged too, until the
next recording makes a new one.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from vault.model.errors import Damaged, Unavailable, VaultError
from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.store.files import layout
from vault.store.files.snapshot_text import read_snapshot
from vault.store.git.history import is_ancestor
from vault.store.git.repository import Repository
from vault.store.index import acts, lines, texts, values
from vault.store.index._reading import first_row, rows
from vault.store.index.database import UNREADABLE, Answer, IndexDatabase, is_damage
from vault.store.index.recorded import acts_and_written_between
from vault.store.index.redated import is_redated, redate
from vault.store.index.rows import (
    Addition,
    Snapshot,
    axes_of,
    check_count,
    enter_snapshot,
    has_exactly,
    is_commit,
    latest_of_all,
    read_assessments,
    snapshots,
    write_assessments,
)
from vault.store.index.tables import clear
from vault.store.index.ties import settle_ties
from vault.store.index.values_agreement import Agreement
from vault.store.local.sqlite_file import FAILURES, writing


class Index:
    """Snapshots by axis, in the order of their taken-at (ties: in the order they were recorded)."""

    def __init__(self, repository: Repository, state: Path) -> None:
        self._repository = repository
        self._added: list[Addition] | None = None
        self._has_moved = False
        self._filled: set[Address | None] = set()  # axes whose values were asked for; None: of all
        self._store = IndexDatabase(state / "index.sqlite", self._refill)
        self._store.ask(check_count)

    @property
    def _database(self) -> sqlite3.Connection:
        return self._store.connection

    def close(self) -> None:
        """Close the database."""
        self._store.close()

    @property
    def is_damaged(self) -> bool:
        """Whether the file turned out to be damaged, so that questions are answered without it."""
        return self._store.is_damaged

    def follow(self) -> str:
        """Bring the index to the branch's present commit and return that."""
        return self._store.ask(lambda _: self._follow())

    def _refill(self) -> None:
        """Catch up in memory with git, and with what is being recorded."""
        self._follow()
        for address in self._filled:
            self._fill_values(address)
        if self._added is not None:
            if self._store.is_damaged:
                self._store.remove()  # nobody else writes
            self._database.execute("BEGIN IMMEDIATE")
            for addition in () if self._has_moved else self._added:
                self._insert(addition)

    def is_redated(self, address: Address) -> bool:
        """Whether somebody put right when a snapshot of an axis was taken."""
        return self._store.ask(lambda database: is_redated(database, address))

    def _follow(self) -> str:
        tip = self._repository.tip()
        if self._tip() == tip:
            return tip
        with writing(self._database):
            tip = self._repository.tip()  # again: while we waited somebody may have moved it
            self._catch_up(tip)
        return tip

    def _catch_up(self, tip: str) -> None:
        """Bring the index to a commit. Call within a transaction."""
        known = self._tip()
        if known == tip:
            return
        if known is None or not is_ancestor(self._repository, known, tip):
            clear(self._database)
            known = None
        newest = first_row(self._database, (int,), "SELECT ifnull(max(seq), 0) FROM snapshots")
        since = newest[0] if newest else 0
        corrected: set[Address] = set()
        for written in acts_and_written_between(self._repository, known, tip):
            address, commit = written.address, written.commit
            if address is None:  # of a machine
                continue
            if written.name in acts.ACT_FILES:
                acts.enter(self._database, self._repository, address, written.name, commit)
                continue
            if not written.blob:  # it was removed
                continue
            if not written.is_record:
                corrected |= {address, address.controller}  # it is of both sides
                continue
            text = self._repository.blob(written.blob) or b""
            try:
                record = read_snapshot(text, f"{commit[:10]}:snapshot.yaml")
            except VaultError:  # one bad record must not hide the others; verify names it
                continue
            self._insert(Addition(address, commit, text, record))
        settle_ties(self._database, self._repository, tip, since)
        if redate(self._database, self._repository, tip, corrected):
            settle_ties(self._database, self._repository, tip, 0)
        self._set_tip(tip)

    def rebuild(self) -> int:
        """Start anew from git; returns the number of snapshots."""
        self._store.renew()
        self.follow()
        return self.count()

    @contextmanager
    def recording(self) -> Iterator[None]:
        """Hold additions back until the branch has moved; they vanish if the block fails.

        Raises Unavailable where the index gives out before the branch has moved; later it only
        has to follow.
        """
        if self._store.is_damaged:
            self.rebuild()
        self._store.ask(lambda database: database.execute("BEGIN IMMEDIATE"))
        self._added, self._has_moved = [], False
        try:
            # A reader that waited for us may have rebuilt the index since it was followed.
            self._store.ask(lambda _: self._catch_up(self._repository.tip()))
            yield
            self._database.execute("COMMIT")
        except FAILURES as error:
            self._added = None
            self._store.do_without_file(error)
            if not self._has_moved:
                raise Unavailable(
                    f"the index cannot be written: {error}",
                    hint="nothing was taken in; is the disk full?",
                ) from error
        except BaseException:
            if self._database.in_transaction:
                self._database.execute("ROLLBACK")
            raise
        finally:
            self._added = None

    def add(
        self,
        address: Address,
        commit: str,
        text: bytes,
        record: SnapshotRecord,
        parameters: bytes,
        before: bytes | None,
    ) -> None:
        """Add a snapshot with its values. Call within `recording`.

        `parameters` and `before` are parameters.yaml of it and of the one before it in time.
        """
        assert self._added is not None
        addition = Addition(address, commit, text, record, parameters, before)
        try:
            self._insert(addition)
            self._added.append(addition)
        except UNREADABLE as error:
            if not is_damage(error):
                raise
            self._added.append(addition)
            self._store.do_without_file(error)

    def _insert(self, addition: Addition) -> None:
        seq = enter_snapshot(self._database, addition)
        texts.enter(self._database, addition.address, texts.of_snapshot(addition.record))
        if addition.parameters is not None and not is_redated(self._database, addition.address):
            address, taken = addition.address, addition.row[2]
            parameters, before = addition.parameters, addition.before
            values.record(self._database, seq, address, taken, parameters, before)

    def branch_moved(self, tip: str) -> None:
        """Note that the additions are those up to this commit. Call within `recording`."""
        self._has_moved = True
        for address in {addition.address for addition in self._added or ()}:
            if is_redated(self._database, address):  # ties are not in the order of recording
                settle_ties(self._database, self._repository, tip, 0)
                break
        self._set_tip(tip)

    def count(self, address: Address | None = None) -> int:
        """Number of snapshots of an axis, or of all."""
        if address is None:
            return self._count("SELECT count(*) FROM snapshots")
        question = "SELECT count(*) FROM snapshots WHERE machine = ? AND axis = ?"
        return self._count(question, *address.key)

    def snapshots(self, address: Address) -> Iterator[Snapshot]:
        """All snapshots of an axis, oldest first."""
        return self._found("ORDER BY taken, seq", address)

    def newest_first(self, address: Address, most: int = -1) -> Iterator[Snapshot]:
        """Snapshots of an axis, newest first: all, or the `most` that are wanted."""
        return self._found(f"ORDER BY taken DESC, seq DESC LIMIT {int(most)}", address)

    def nth_latest(self, address: Address, n: int) -> Snapshot | None:
        """The snapshot some steps before the latest."""
        order = f"ORDER BY taken DESC, seq DESC LIMIT 1 OFFSET {int(n)}"
        return next(self._found(order, address), None)

    def first(self, address: Address) -> Snapshot | None:
        """The oldest snapshot."""
        return next(self._found("ORDER BY taken, seq LIMIT 1", address), None)

    def latest_at(self, address: Address, moment: int) -> Snapshot | None:
        """The newest snapshot not taken after a moment, in microseconds since 1970."""
        order = f"AND taken <= {int(moment)} ORDER BY taken DESC, seq DESC LIMIT 1"
        return next(self._found(order, address), None)

    def by_id(self, address: Address, start: str) -> list[Snapshot]:
        """Snapshots of an axis whose commit id starts with these hex digits."""
        return list(self._found("AND id GLOB ? ORDER BY taken, seq", address, f"{start}*"))

    def has(self, commit: str) -> bool:
        """Whether a commit records a snapshot."""
        question = "SELECT count(*) FROM snapshots WHERE substr(id, 1, 8) = ? AND id = ?"
        return self._count(question, commit[:8], commit) > 0

    def taken_between(self, address: Address, first: int, last: int) -> list[Snapshot]:
        """Snapshots of an axis taken from first to last, in microseconds since 1970."""
        span = f"AND taken BETWEEN {int(first)} AND {int(last)} ORDER BY seq"
        return list(self._found(span, address))

    def latest_with_serial(self, serial: str) -> list[Snapshot]:
        """Latest snapshots of the axes whose latest snapshot carries this serial number."""
        return self._snapshots(
            "AS s WHERE serial = ? AND NOT EXISTS"
            " (SELECT 1 FROM snapshots AS n WHERE n.machine = s.machine AND n.axis = s.axis"
            " AND (n.taken, n.seq) > (s.taken, s.seq)) ORDER BY machine, axis",
            serial,
        )

    def axes(self, machine: str | None = None) -> list[Address]:
        """Sets that have snapshots, those of the controllers too, by name; of a machine, or all."""
        return self._store.ask(lambda database: axes_of(database, machine))

    def latest_of_all(self, machine: str | None = None) -> dict[Address, tuple[str, int]]:
        """Latest snapshot of every set, or of those of a machine: its id, and its taken-at in
        microseconds since 1970."""
        return self._store.ask(lambda database: latest_of_all(database, machine))

    def fill_values(
        self,
        address: Address | None = None,
        progress: Callable[[int, int], None] = lambda done, total: None,
    ) -> None:
        """Catch up with the values of an axis, or of all, so that `value_changes` knows them."""
        self._store.ask(lambda _: self._fill_values(address, progress))
        self._filled.add(address)

    def _fill_values(
        self,
        address: Address | None,
        progress: Callable[[int, int], None] = lambda done, total: None,
    ) -> None:
        if address is None:
            behind = values.axes_behind(self._database)
        else:
            behind = [address] if values.is_behind(self._database, address) else []
        for number, axis in enumerate(behind, 1):
            with writing(self._database):
                values.fill(self._database, axis, self._parameters)
            progress(number, len(behind))

    def _parameters(self, commit: str, address: Address) -> bytes:
        path = layout.parameters_file(address)
        content = self._repository.read(commit, path)
        if content is None:
            raise Damaged("the vault misses this file", file=f"{commit[:10]}:{path}")
        return content

    def value_changes(self, codes: Iterable[str]) -> list[values.ValueChange]:
        """Changes of some codes: axis by axis, oldest first. Call `fill_values` before."""
        return self._store.ask(lambda database: values.value_changes(database, codes))

    def value_changes_on(
        self, address: Address, code: str, of_roles: Iterable[str]
    ) -> list[values.ValueChange]:
        """Changes of a code, and of what had one of these roles, on an axis, oldest first."""
        return self._store.ask(
            lambda database: values.value_changes_on(database, address, code, tuple(of_roles))
        )

    def axes_that_may_have(self, lines: Sequence[str], *, but: int) -> set[Address]:
        """Axes whose latest set may have these lines of settings, all but some: no other has."""
        return self._store.ask(lambda database: values.may_have(database, lines, but))

    def codes_like(self, text: str) -> list[str]:
        """Codes of the parameters that a text means: code, role, or part of name or label."""
        return self._store.ask(lambda database: lines.codes_like(database, text))

    def ask(self, question: Callable[[sqlite3.Connection], Answer]) -> Answer:
        """The answer to a question of another module of this package."""
        return self._store.ask(question)

    def assessments(
        self, machines: Iterable[str] | None = None
    ) -> tuple[dict[Address, tuple[str, str]], str | None]:
        """What `keep_assessments` kept: what was seen and found by axis, of some machines or of
        all, and `all_at`."""
        of = None if machines is None else list(machines)
        return self._store.ask(lambda database: read_assessments(database, of))

    def keep_assessments(
        self,
        assessments: Mapping[Address, tuple[str, str]],
        *,
        gone: Iterable[Address] = (),
        all_at: str | None = None,
    ) -> None:
        """Keep what was found about some axes, for as long as what was seen of them is the same.

        What was found is a text. `gone` are axes that are no more; `all_at` says at what state all
        axes were assessed.
        """
        with suppress(*FAILURES), writing(self._database):  # else it is computed again
            write_assessments(self._database, assessments, gone, all_at)

    def forget_assessments(self) -> None:
        """Have every axis assessed anew."""
        with writing(self._database):
            self._database.execute("DELETE FROM assessments")
            self._database.execute("UPDATE state SET assessed = NULL")

    def has_exactly(self, address: Address, snapshots: Iterable[Snapshot]) -> bool:
        """Whether the index has these snapshots of an axis, in this order, and no others."""
        wanted = list(snapshots)
        return self._store.ask(lambda database: has_exactly(database, address, wanted))

    def is_sound(self) -> bool:
        """Whether SQLite finds nothing wrong, and times that were put right are all counted."""
        redated = "(SELECT count(redated) FROM snapshots)"
        is_counted = self._count(f"SELECT count(*) FROM state WHERE redated = {redated}") == 1
        return is_counted and self._store.is_sound()

    def agreement(self, address: Address) -> Agreement:
        """Whether the values that the index has of an axis are those that it is shown."""
        return self._store.ask(lambda db: Agreement(db, address))

    def _found(self, rest: str, address: Address, *more: str) -> Iterator[Snapshot]:
        rest = f"WHERE machine = ? AND axis = ? {rest}"
        return iter(self._snapshots(rest, *address.key, *more))

    def _snapshots(self, rest: str, *values: str) -> list[Snapshot]:
        return self._store.ask(lambda database: list(snapshots(database, rest, *values)))

    def _count(self, question: str, *values: str) -> int:
        counted = self._store.ask(lambda database: list(rows(database, (int,), question, *values)))
        return int(counted[0][0])

    def _tip(self) -> str | None:
        state = first_row(self._database, (str | None,), "SELECT tip FROM state")
        return state[0] if state and state[0] and is_commit(state[0]) else None

    def _set_tip(self, tip: str) -> None:
        newest = "(SELECT max(seq) FROM snapshots)"
        self._database.execute(f"UPDATE state SET tip = ?, newest = {newest}", (tip,))
