"""Many objects out of one `git cat-file`, asked for before the answers to earlier ones are read."""

from __future__ import annotations

import contextlib
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from itertools import islice
from subprocess import Popen

from vault.store.git.objects import GitObject

# What any pipe takes without a reader (PIPE_BUF: 4,096 and more on Linux, 512 at least by POSIX).
# Git does not read on while nobody takes its answers: more on the way could stop both for ever.
_ON_THE_WAY = 4096
_AHEAD = 16  # names asked for before their turn


class ObjectStream:
    """Answers of a `git cat-file --batch`, or `--batch-check` where `bare`. Close it when done.

    A damaged object ends the process: that name is asked of `alone`, and a new one is started.
    """

    def __init__(
        self,
        start: Callable[[], Popen[bytes]],
        alone: Callable[[str], GitObject | None],
        *,
        bare: bool = False,
    ) -> None:
        self._start, self._alone, self._bare = start, alone, bare
        self._process: Popen[bytes] | None = None
        # Names and lines that wait for an answer, the first `_sent` of them written.
        self._waiting: deque[tuple[str, bytes]] = deque()
        self._sent = self._bytes = 0

    def __enter__(self) -> ObjectStream:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """End the process; what was asked for is forgotten."""
        self._end()
        self._waiting.clear()

    def find(self, names: Iterable[str]) -> Iterator[GitObject | None]:
        """What each name stands for, in their order; None where there is none, or it is damaged.

        Names are taken some ahead. One question at a time: the next one ends this.
        """
        if self._waiting:  # somebody did not read to the end
            self.close()
        ahead = iter(names)
        while True:
            if len(self._waiting) <= _AHEAD // 2:  # several at once: each writing has its price
                self._ask(islice(ahead, _AHEAD - len(self._waiting)))
            if not self._waiting:
                return
            yield self._answer()

    def contents(self, names: Iterable[str], kind: str = "blob") -> Iterator[bytes | None]:
        """Contents of objects of one kind."""
        for stored in self.find(names):
            yield stored.content if stored is not None and stored.kind == kind else None

    def ids(self, names: Iterable[str]) -> Iterator[str | None]:
        """Ids of objects."""
        for stored in self.find(names):
            yield None if stored is None else stored.id

    def _ask(self, names: Iterable[str]) -> None:
        self._waiting.extend((name, _line(name)) for name in names)
        self._send()

    def _answer(self) -> GitObject | None:
        name, line = self._waiting[0]
        stored: GitObject | None = None
        try:
            stored = self._read(name)
        except (OSError, EOFError):
            self._end()
            stored = self._alone(name) if "\n" not in name else None
        else:
            self._sent -= 1
            self._bytes -= len(line)
        self._waiting.popleft()
        self._send()
        return stored

    def _send(self) -> None:
        """Write names as long as there is certainly room for them."""
        written = b""
        while self._sent < len(self._waiting):
            line = self._waiting[self._sent][1]
            if self._sent and self._bytes + len(line) > _ON_THE_WAY:
                break
            written += line
            self._sent += 1
            self._bytes += len(line)
        if not written:
            return
        if self._process is None:
            self._process = self._start()
        assert self._process.stdin is not None
        with contextlib.suppress(OSError):  # the answer will be missing
            self._process.stdin.write(written)
            self._process.stdin.flush()

    def _read(self, name: str) -> GitObject | None:
        """The next answer: `ID KIND SIZE`, content and line end, or that there is none."""
        if self._process is None or self._process.stdout is None:
            raise EOFError
        line = self._process.stdout.readline()
        if not line.endswith(b"\n"):
            raise EOFError
        parts = line[:-1].split(b" ")
        if len(parts) != 3 or len(parts[0]) != 40 or not parts[2].isdigit():
            return None
        size = 0 if self._bare else int(parts[2])
        content = b"" if self._bare else self._process.stdout.read(size + 1)[:-1]
        if len(content) != size:
            raise EOFError
        return GitObject(parts[0].decode(), parts[1].decode(), content)

    def _end(self) -> None:
        process, self._process = self._process, None
        self._sent = self._bytes = 0
        if process is None:
            return
        process.kill()
        for pipe in (process.stdin, process.stdout, process.stderr):
            if pipe is not None:
                with contextlib.suppress(OSError):
                    pipe.close()
        process.wait()


def _line(name: str) -> bytes:
    """A name as it is asked for; what is no name of git's stands for nothing."""
    return b"\n" if "\n" in name else name.encode("utf-8", "surrogatepass") + b"\n"
