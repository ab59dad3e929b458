"""The outbox: what was announced about each axis, and the messages that wait to go out.

It also holds which channels somebody confirmed on this computer.

Not derived: deleting the index does not touch it, and nothing else holds what is in it. A message
stays until it has gone out; where the file cannot be written that is an error, never a loss.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from time import sleep
from typing import TYPE_CHECKING, Any

from vault.model.alerts import Alert
from vault.model.errors import Unavailable
from vault.store.clock import microseconds, moment_of, now
from vault.store.local import sqlite_file
from vault.store.local.lock import take_lock

if TYPE_CHECKING:
    from vault.model.alert_channels import Channel

FILE = "alerts.sqlite"
_SET_ASIDE = f"{FILE}.damaged-"
_STEPS = (
    """
CREATE TABLE messages (
  id TEXT NOT NULL, channel TEXT NOT NULL,
  alert TEXT NOT NULL,
  queued INTEGER NOT NULL,
  attempts INTEGER NOT NULL DEFAULT 0,
  next INTEGER NOT NULL,
  error TEXT,
  sent INTEGER,
  PRIMARY KEY (id, channel)
);
CREATE INDEX waiting ON messages (next) WHERE sent IS NULL;
CREATE TABLE told (axis TEXT PRIMARY KEY, text TEXT NOT NULL)
""",
    # Channels that messages went by before are known here; `bind` says how they are set up.
    """
CREATE TABLE confirmed (
  channel TEXT PRIMARY KEY, content TEXT, folder TEXT, person TEXT NOT NULL, at INTEGER NOT NULL
);
INSERT INTO confirmed SELECT channel, NULL, NULL, 'known before', min(queued)
  FROM messages GROUP BY channel
""",
)
_COLUMNS = "id, channel, alert, queued, attempts, next, error, sent"
_MENDING_SECONDS = 30
_TRIES, _PAUSE = 600, 0.05  # half a minute, as the time-out of the database


@dataclass(frozen=True, slots=True)
class Message:
    """An alert on its way to one channel; `sent` is None while it waits."""

    alert: Alert
    channel: str
    queued: datetime
    attempts: int
    next_try: datetime
    error: str | None
    sent: datetime | None

    @property
    def key(self) -> tuple[str, str]:
        """What there is one of: the alert's id and the channel."""
        return self.alert.id, self.channel


@dataclass(frozen=True, slots=True)
class Confirmation:
    """A channel that somebody confirmed on this computer, by its name.

    `content` stands for how it was set up then, None until `bind` knows; `folder` is where a
    channel that writes files may do so.
    """

    channel: str
    content: str | None
    folder: Path | None
    by: str
    at: datetime


class Outbox:
    """The outbox of a vault, in the folder of its state; for one thread."""

    def __init__(self, state: Path, moment: Callable[[], datetime] = now) -> None:
        """Open it, or make it. Raises Unavailable where it cannot be read and written."""
        self._file = state / FILE
        self._moment = moment
        self._database = self._open()

    @staticmethod
    def exists(state: Path) -> bool:
        """Say whether anything was ever announced there."""
        return (state / FILE).exists()

    @staticmethod
    def set_aside(state: Path) -> list[Path]:
        """Damaged files that were put out of the way, until somebody deletes them."""
        return sorted(state.glob(f"{_SET_ASIDE}*[0-9]"))

    def close(self) -> None:
        """Close the database."""
        self._database.close()

    def __enter__(self) -> Outbox:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def last_announced(self, axis: str) -> str | None:
        """JSON text of what was last announced about an axis; None where nothing was."""
        rows = self._rows("SELECT text FROM told WHERE axis = ?", axis)
        return rows[0][0] if rows else None

    def announce(
        self,
        axis: str,
        state: str | None,
        alerts: Iterable[Alert],
        channels: Iterable[Channel],
    ) -> int:
        """Note what is now known about an axis, and queue alerts, all at once or not at all.

        An alert is queued for each channel that wants it, unless it was before. `state` None
        forgets the axis. Returns the number of messages that are new.
        """
        wanted_by = tuple(channels)
        moment = microseconds(self._moment())
        with self._writing() as database:
            if state is None:
                database.execute("DELETE FROM told WHERE axis = ?", (axis,))
            else:
                database.execute("INSERT OR REPLACE INTO told VALUES (?, ?)", (axis, state))
            return sum(
                database.execute(
                    "INSERT OR IGNORE INTO messages (id, channel, alert, queued, next)"
                    " VALUES (?, ?, ?, ?, ?)",
                    (alert.id, channel.name, _text(alert), moment, moment),
                ).rowcount
                for alert in alerts
                for channel in wanted_by
                if channel.wants(alert)
            )

    def due(self, *, early: bool = False) -> list[Message]:
        """Messages whose next try has come, or with `early` all that wait; longest due first."""
        question = f"SELECT {_COLUMNS} FROM messages WHERE sent IS NULL AND next <= ?"
        latest = (1 << 63) - 1 if early else microseconds(self._moment())
        return self._messages(f"{question} ORDER BY next, queued, rowid", latest)

    def waiting(self) -> list[Message]:
        """Messages that have not gone out, and that did only in part of late; oldest first."""
        since = microseconds(self._moment() - timedelta(days=7))
        return self._messages(
            f"SELECT {_COLUMNS} FROM messages WHERE sent IS NULL OR error IS NOT NULL"
            " AND sent >= ? ORDER BY queued, rowid",
            since,
        )

    def all_since(self, since: datetime) -> list[Message]:
        """Messages that wait, and those that have gone out since a moment; oldest first."""
        return self._messages(
            f"SELECT {_COLUMNS} FROM messages WHERE sent IS NULL OR sent >= ?"
            " ORDER BY queued, rowid",
            microseconds(since),
        )

    def mark_sent(self, message: Message, remark: str | None = None) -> None:
        """Note that a message has gone out; `remark` says what did not go right."""
        self._note("sent = ?, error = ?", message, microseconds(self._moment()), remark)

    def mark_failed(self, message: Message, error: str, next_try: datetime) -> None:
        """Note that a message has not gone out, why, and when to try again."""
        self._note("error = ?, next = ?", message, error, microseconds(next_try))

    def confirmations(self) -> dict[str, Confirmation]:
        """The channels that were confirmed here, by name."""
        rows = self._rows("SELECT channel, content, folder, person, at FROM confirmed")
        return {
            name: Confirmation(name, content, Path(folder) if folder else None, by, moment_of(at))
            for name, content, folder, by, at in rows
        }

    def confirm(self, channel: Channel, by: str, folder: Path | None = None) -> None:
        """Note that a channel may be used here as it is set up now."""
        row = (
            channel.name, channel.content, str(folder) if folder is not None else None, by,
            microseconds(self._moment()),
        )  # fmt: skip
        with self._writing() as database:
            database.execute("INSERT OR REPLACE INTO confirmed VALUES (?, ?, ?, ?, ?)", row)

    def forget_confirmations(self) -> None:
        """Have no channel used from this computer until somebody confirms it anew."""
        with self._writing() as database:
            database.execute("DELETE FROM confirmed")

    def bind(self, channels: Iterable[Channel]) -> None:
        """Take channels that were known before as they are set up now."""
        open_ = {name for name, one in self.confirmations().items() if one.content is None}
        with self._writing() if open_ else nullcontext(self._database) as database:
            for channel in channels:
                if channel.name in open_:
                    folder = channel.folder
                    database.execute(
                        "UPDATE confirmed SET content = ?, folder = ? WHERE channel = ?",
                        (channel.content, str(folder) if folder else None, channel.name),
                    )

    def forget_sent(self, before: datetime) -> None:
        """Drop messages that went out long ago."""
        with self._writing() as database:
            database.execute("DELETE FROM messages WHERE sent < ?", (microseconds(before),))

    def _note(self, what: str, message: Message, *values: str | int | None) -> None:
        with self._writing() as database:
            database.execute(
                f"UPDATE messages SET attempts = attempts + 1, {what} WHERE id = ? AND channel = ?"
                " AND sent IS NULL",
                (*values, *message.key),
            )

    def _messages(self, question: str, *values: int) -> list[Message]:
        try:
            return [_message(row) for row in self._rows(question, *values)]
        except (ValueError, LookupError, TypeError) as error:
            raise Unavailable(
                f"the outbox of alerts holds a message that cannot be read: {error!r}",
                hint="a newer axisvault may have written it; update this one",
            ) from error

    def _rows(self, question: str, *values: str | int) -> list[tuple[Any, ...]]:
        try:
            return self._database.execute(question, values).fetchall()
        except sqlite_file.FAILURES as error:
            raise _unavailable(error) from error

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        try:
            with sqlite_file.writing(self._database):
                yield self._database
        except sqlite_file.FAILURES as error:
            raise _unavailable(error) from error

    def _open(self) -> sqlite3.Connection:
        try:
            self._file.parent.mkdir(exist_ok=True)
            try:
                return _opened(self._file)
            except sqlite_file.FAILURES as error:
                if not _is_damage(error):
                    raise
            return self._mended()
        except (*sqlite_file.FAILURES, OSError) as error:
            raise _unavailable(error) from error

    def _mended(self) -> sqlite3.Connection:
        """Put a damaged file out of the way and start anew; one process at a time."""
        lock = take_lock(self._file.with_name("alerts.mending"), _MENDING_SECONDS)
        if lock is None:
            raise OSError(f"another process has been mending it for {_MENDING_SECONDS} s")
        with lock:
            try:
                return _opened(self._file)  # somebody else was quicker
            except sqlite_file.FAILURES as error:
                if not _is_damage(error):
                    raise
            stamp = f"{_SET_ASIDE}{microseconds(self._moment())}"
            for ending in ("-wal", "-shm", ""):
                with suppress(FileNotFoundError):
                    old = self._file.with_name(self._file.name + ending)
                    old.rename(self._file.with_name(stamp + ending))
            return _opened(self._file)


def _opened(file: Path) -> sqlite3.Connection:
    database = sqlite_file.connected(file)
    try:
        _write_ahead(database)
        database.execute("PRAGMA synchronous = FULL")
        sqlite_file.bring_up_to_date(database, _STEPS, file)
        damage = database.execute("PRAGMA quick_check(1)").fetchone()[0]
        if damage != "ok":
            raise _damage(damage)
        database.execute("BEGIN IMMEDIATE")  # notices here what may not be written
        database.execute("ROLLBACK")
    except BaseException:
        database.close()
        raise
    return database


def _write_ahead(database: sqlite3.Connection) -> None:
    """Set the journal; SQLite itself does not wait there for another process that does the same."""
    for left in reversed(range(_TRIES)):
        try:
            database.execute("PRAGMA journal_mode = WAL")
            return
        except sqlite3.OperationalError as error:
            if not left or sqlite_file.result_code(error) != sqlite3.SQLITE_BUSY:
                raise
            sleep(_PAUSE)


def _damage(reason: str) -> sqlite3.DatabaseError:
    error = sqlite3.DatabaseError(reason)
    error.sqlite_errorcode = sqlite3.SQLITE_CORRUPT
    return error


def _is_damage(error: Exception) -> bool:
    if not isinstance(error, sqlite3.Error):
        return True
    return sqlite_file.result_code(error) in (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


def _unavailable(error: Exception) -> Unavailable:
    return Unavailable(
        f"the outbox of alerts cannot be used: {error}",
        hint="is the disk full, or axisvault/alerts.sqlite in the vault not yours to write?",
    )


def _text(alert: Alert) -> str:
    return json.dumps(alert.as_mapping(), ensure_ascii=False)


def _message(row: tuple[Any, ...]) -> Message:
    _, channel, alert, queued, attempts, following, error, sent = row
    return Message(
        Alert.from_mapping(json.loads(alert)),
        channel,
        moment_of(queued),
        attempts,
        moment_of(following),
        error,
        None if sent is None else moment_of(sent),
    )
