"""Send the alerts that wait in the outbox, and tell which ones do.

Whoever announces an alert does not wait for this: `start_delivery` leaves it to a process of its
own. One sender is at work at a time. A sender that dies leaves every message it had not noted as
sent to the next: a message goes out at least once, and carries an id by which a receiver knows it.
"""

from __future__ import annotations

import math
import os
import queue
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

from vault.jobs.alerts.channels import NotSent, send
from vault.jobs.alerts.confirm import channel_named, channels_of, confirmed_channels, named_folders
from vault.model.alerts import Alert
from vault.model.errors import Refused, Unavailable
from vault.store.clock import now
from vault.store.local.lock import Lock, take_lock
from vault.store.local.outbox import Message, Outbox
from vault.store.local.secrets import Secrets
from vault.store.vault import Vault

if TYPE_CHECKING:
    from vault.model.alert_channels import Channel

FIRST_PAUSE = timedelta(minutes=1)
LONGEST_PAUSE = timedelta(hours=6)
KEPT = timedelta(days=365)
"""How long messages that have gone out are remembered, so that none goes out again."""
OF_LATE = timedelta(days=30)
_GIVES_UP_AFTER = 3
_LOOK = 0.25
_LONGEST_SLEEP = 60
_STEPS = 10
"""Steps of a channel that may each take its timeout: connecting, greeting, asking, ending …"""

Moment = Callable[[], datetime]


@dataclass(slots=True)
class Delivered:
    """What a sender did; `is_busy`: nothing, as another one is at work."""

    sent: list[Message] = field(default_factory=list)
    failed: list[Message] = field(default_factory=list)
    is_busy: bool = False


@dataclass(frozen=True, slots=True)
class WaitingMessage:
    """A message as it is shown.

    `is_gone`: vault.yaml has no such channel any more; `is_unconfirmed`: nobody on this computer
    said that the channel, as it is set up now, may be used.
    """

    message: Message
    is_gone: bool
    is_unconfirmed: bool = False

    @property
    def is_held(self) -> bool:
        """Whether it waits for somebody, and not for its time."""
        return self.is_gone or self.is_unconfirmed


def pause(attempts: int) -> timedelta:
    """How long to wait after so many attempts in vain: a minute, then twice as long each time."""
    doubled = min(attempts - 1, 16)
    return min(FIRST_PAUSE * (1 << doubled), LONGEST_PAUSE)


def waiting(
    state: Path, channels: Sequence[Channel], *, everything: bool = False, moment: Moment = now
) -> list[WaitingMessage]:
    """Messages that have not gone out, or only in part; with `everything` sent ones of late too."""
    if not Outbox.exists(state):
        return []
    known = {channel.name for channel in channels}
    with Outbox(state, moment) as outbox:
        usable = {channel.name for channel in confirmed_channels(outbox, channels)}
        messages = outbox.all_since(moment() - OF_LATE) if everything else outbox.waiting()
    return [
        WaitingMessage(
            message,
            is_gone=message.sent is None and message.channel not in known,
            is_unconfirmed=message.sent is None and message.channel in known - usable,
        )
        for message in messages
    ]


def deliver(
    state: Path,
    channels: Sequence[Channel],
    site: str,
    *,
    moment: Moment = now,
    early: bool = False,
) -> Delivered:
    """Send what is due; with `early` also what is to wait still.

    A channel that hangs holds up no other, nor what is announced meanwhile. Each message is tried
    once; a channel that failed three times is left alone until the next call. Returns at once
    where another sender is at work. Raises Unavailable where the outbox cannot be used.
    """
    done = Delivered()
    if not Outbox.exists(state):
        return done
    with Outbox(state, moment) as outbox:
        usable = confirmed_channels(outbox, channels)
        secrets = Secrets(state.parent, folders=named_folders(outbox))
        sender = _Sender(outbox, usable, secrets, site, moment, early, done)
        while sender.next(anew=True):
            lock = _lock(state / "alerts.lock")
            if lock is None:
                done.is_busy = not (done.sent or done.failed)
                return done
            with lock:
                sender.run()
            # Somebody may have announced something and left it to us, just before we let go.
        outbox.forget_sent(moment() - KEPT)
    return done


def _lock(file: Path) -> Lock | None:
    """A lock, where nobody has it."""
    try:
        return take_lock(file)
    except OSError as error:
        raise Unavailable(f"alerts cannot be sent: {error}") from error


class _Sender:
    """Sends by every channel at once, one message at a time each; notes the outcome itself."""

    def __init__(
        self,
        outbox: Outbox,
        channels: Sequence[Channel],
        secrets: Secrets,
        site: str,
        moment: Moment,
        early: bool,
        done: Delivered,
    ) -> None:
        self._outbox = outbox
        self._channels = {channel.name: channel for channel in channels}
        self._secrets = secrets
        self._site = site
        self._moment = moment
        self._early = early
        self._done = done
        self._due: list[Message] = []
        self._looked = -math.inf
        self._tried: set[tuple[str, str]] = set()
        self._failures: Counter[str] = Counter()
        self._under_way: dict[str, tuple[Message, float]] = {}
        self._outcomes: queue.SimpleQueue[tuple[Message, str | None, bool]] = queue.SimpleQueue()

    def next(self, *, anew: bool = False) -> list[Message]:
        """For each channel that is free, the message it should send next."""
        if anew or time.monotonic() > self._looked + _LOOK:
            self._due = self._outbox.due(early=self._early)
            self._looked = time.monotonic()
        first: dict[str, Message] = {}
        for message in self._due:
            channel = message.channel
            is_free = channel in self._channels and channel not in self._under_way
            is_well = self._failures[channel] < _GIVES_UP_AFTER
            if is_free and is_well and message.key not in self._tried:
                first.setdefault(channel, message)
        return list(first.values())

    def run(self) -> None:
        """Send until nothing is due that has not been tried."""
        while True:
            for message in self.next():
                self._start(message)
            if not self._under_way:
                return
            try:
                self._note(*self._outcomes.get(timeout=_LOOK))
            except queue.Empty:
                self._abandon_endless()

    def _start(self, message: Message) -> None:
        channel = self._channels[message.channel]
        self._tried.add(message.key)
        self._under_way[channel.name] = message, time.monotonic() + channel.timeout * _STEPS
        # A daemon: one that never ends must not keep the process.
        threading.Thread(target=self._try, args=(channel, message), daemon=True).start()

    def _try(self, channel: Channel, message: Message) -> None:
        try:
            remark = send(channel, message.alert, self._secrets, self._site)
            self._outcomes.put((message, remark, True))
        except NotSent as error:
            self._outcomes.put((message, str(error), False))

    def _note(self, message: Message, text: str | None, is_sent: bool) -> None:
        is_expected = self._under_way.get(message.channel, (None,))[0] == message
        if is_expected:
            del self._under_way[message.channel]
        elif not is_sent:  # it was let go of before, and counted
            return
        if is_sent:
            self._outbox.mark_sent(message, text)
            self._done.sent.append(message)
        else:
            self._failures[message.channel] += 1
            again = self._moment() + pause(message.attempts + 1)
            self._outbox.mark_failed(message, text or "", again)
            self._done.failed.append(message)

    def _abandon_endless(self) -> None:
        """Let go of what takes longer than its timeouts allow, and of its channel for this call."""
        for message, latest in list(self._under_way.values()):
            if time.monotonic() > latest:
                self._failures[message.channel] = _GIVES_UP_AFTER
                self._note(message, "it was still not done long after its timeout", False)


def deliver_from(folder: Path, *, moment: Moment = now, early: bool = False) -> Delivered:
    """Send what is due in the vault in a folder, by the channels in its vault.yaml."""
    with Vault.open(folder) as vault:
        channels, site, state = channels_of(vault), vault.site, vault.state
    return deliver(state, channels, site, moment=moment, early=early)


def keep_delivering(
    folder: Path,
    done: Delivered,
    *,
    moment: Moment = now,
    wait: Callable[[float], None] = time.sleep,
    longest: timedelta = timedelta(days=1),
) -> Delivered:
    """Stay and try again until nothing waits that could go out; adds to what was done before.

    One process stays per vault; others leave it to that one. It ends with the vault's folder, and
    after `longest` even so: the next ingest or drift starts another.
    """
    end = moment() + longest
    state = folder / "axisvault"
    lock = _lock(state / "alerts.staying")
    if lock is None:
        return done
    with lock:
        while (next_try := _next_try(folder, moment)) and moment() < end:
            seconds = (next_try - moment()).total_seconds()
            wait(min(max(seconds, 1), _LONGEST_SLEEP))  # others may announce something meanwhile
            if next_try <= moment():
                again = deliver_from(folder, moment=moment)
                done.sent += again.sent
                done.failed += again.failed
    return done


def _next_try(folder: Path, moment: Moment) -> datetime | None:
    """When the next message is due that has a channel; None where there is nothing to wait for."""
    if not Outbox.exists(folder / "axisvault"):
        return None
    with Vault.open(folder) as vault:
        left = waiting(vault.state, channels_of(vault), moment=moment)
    tries = [w.message.next_try for w in left if w.message.sent is None and not w.is_held]
    return min(tries, default=None)


@dataclass(frozen=True, slots=True)
class ChannelTest:
    """What became of a test message; `error` is a remark where it went out."""

    alert: Alert
    is_sent: bool
    error: str | None


def try_channel(vault: Vault, channels: Sequence[Channel], name: str) -> ChannelTest:
    """Send a test message by one channel, past what waits.

    Raises WrongUsage for an unknown one, Refused for one that was not confirmed here.
    """
    channel = channel_named(channels, name)
    with Outbox(vault.state) as outbox:
        if channel not in confirmed_channels(outbox, channels):
            raise Refused(
                f"nobody on this computer confirmed channel {name} as it is set up now",
                hint=f"look at it with site show, then: axisvault alerts confirm {name}",
            )
        folders = named_folders(outbox)
    alert = Alert(
        id=f"test-{uuid4()}",
        axis="test/test",
        status="test",
        time=now(),
        worst=None,
        subject="Test message of axisvault",
        sentences=("This is a test: no axis has changed.",),
    )
    try:
        secrets = Secrets(vault.repository.path, folders=folders)
        remark = send(channel, alert, secrets, vault.site)
    except NotSent as error:
        return ChannelTest(alert, False, str(error))
    return ChannelTest(alert, True, remark)


# As `python -m vault`, but by our own code, and blind to modules that lie where the user stands.
_PROGRAM = (
    "import sys; sys.path.append(sys.argv[1]); from vault.cli import main; main(sys.argv[2:])"
)
_started: list[subprocess.Popen[bytes]] = []


def start_delivery(folder: Path) -> subprocess.Popen[bytes] | None:
    """Send what is due in the vault in this folder, by a process that nobody waits for.

    It stays as `keep_delivering` says. Returns None where none could be started: the messages
    remain in the outbox.
    """
    _started[:] = [process for process in _started if process.poll() is None]
    words = ["--vault", str(folder.resolve()), "alerts", "send", "--keep-trying"]
    detached = 0x00000008 if os.name == "nt" else 0  # no console of ours
    try:
        process = subprocess.Popen(  # noqa: S603 (this program, with words of ours)
            [sys.executable, "-P", "-c", _PROGRAM, str(Path(__file__).parents[2]), *words],
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
            creationflags=detached,
        )
    except OSError:
        return None
    _started.append(process)
    return process
