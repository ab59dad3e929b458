"""Structured text of IEC 61131-3, as far as it tells what blocks are given: calls and assignments.

Nothing is executed and no control structure is followed: what stands in a branch that never runs
counts too, and what a call may write counts as written. Grammar from memory (IEC 61131-3, 7.3):
`Inst(In := a, Out => b);`, `x.y := a;`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

# What is never closed goes on to the end, of its line or of all: it is looked through once.
_TOKEN = re.compile(
    r"""
    (?P<blank>\s+ | //[^\n]* | \{[^}]*+\}?)
  | (?P<comment>\(\* | /\*)
  | (?P<text>'(?:\$.|[^'$\n])*+'? | "(?:\$.|[^"$\n])*+"?)
  | (?P<typed>[A-Za-z_][A-Za-z0-9_]*\#[+-]?[A-Za-z0-9_.\#]+(?:(?<=[eE])[+-][0-9]+)?)
  | (?P<name>[A-Za-z_][A-Za-z0-9_]*)
  | (?P<number>(?:2|8|16)\#[0-9A-Fa-f_]+
        | [0-9][0-9_]*(?:\.[0-9][0-9_]*)?(?:[eE][+-]?[0-9]+)?)
  | (?P<sign>:= | => | \*\* | <= | >= | <> | \?= | S= | R= | .)
    """,
    re.VERBOSE | re.DOTALL,
)
_PATH = re.compile(r"[A-Za-z_][\w.\[\]]*")
_ENDS = {"(*": "*)", "/*": "*/"}
_WORDS = "if elsif while until case of then else do repeat for by to return exit continue"
_FIRST_OF_STATEMENT = frozenset(_WORDS.split())


@dataclass(frozen=True, slots=True)
class Token:
    """A word, number, text or sign, and the line that it stands in, counted from 0."""

    kind: str
    text: str
    line: int


@dataclass(frozen=True, slots=True)
class Given:
    """A value that is given to an input: `target` is the path of what takes it.

    A call gives `Inst.Input`, an assignment whatever stands to its left.
    """

    target: str
    expression: str
    line: int


@dataclass(frozen=True, slots=True)
class Lent:
    """A variable that stands alone as an argument: what is called may write it, if it can.

    `name` is the input that it is given to, empty where it is given by its place.
    """

    called: str
    name: str
    path: str


@dataclass(frozen=True, slots=True)
class Statements:
    """What a text gives to inputs and variables, what it calls, and what it writes by outputs.

    Inputs that are given by their place are written as `Inst.*`: any of them.
    """

    given: tuple[Given, ...]
    called: tuple[tuple[str, int], ...]
    written: frozenset[str]
    lent: frozenset[Lent] = frozenset()


def tokens(text: str) -> Iterator[Token]:
    """The text in words and signs, without blanks, comments and pragmas."""
    line, at, ends = 0, 0, _Comments(text)
    while (found := _TOKEN.match(text, at)) is not None:
        kind, at = found.lastgroup or "sign", found.end()
        if kind == "comment":
            at = ends.behind(found.start(), found[0])
        elif kind != "blank":
            yield Token(kind, found[0], line)
        line += text.count("\n", found.start(), at)


class _Comments:
    """Where comments of a text end. They may hold others of their kind (edition 3).

    Once the inner ones do not pair, the first end counts from there on (edition 2).
    """

    def __init__(self, text: str) -> None:
        self._text = text
        self._are_nested = True
        self._never_closed: set[str] = set()

    def behind(self, at: int, opening: str) -> int:
        """The place behind a comment; of one that is never closed the end of all."""
        closing, here = _ENDS[opening], at + 2
        first = -1 if opening in self._never_closed else self._text.find(closing, here)
        if first < 0:
            self._never_closed.add(opening)
            return len(self._text)
        depth = 1
        while depth and self._are_nested:
            closes = self._text.find(closing, here)
            if closes < 0:
                self._are_nested = False
                break
            opens = self._text.find(opening, here, closes)
            depth += -1 if opens < 0 else 1
            here = (closes if opens < 0 else opens) + 2
        return here if self._are_nested else first + 2


def statements(text: str) -> Statements:
    """Calls and assignments of a text; what cannot be understood is passed over."""
    return _Statements([*tokens(text)]).read()


class _Statements:
    def __init__(self, found: list[Token]) -> None:
        self._tokens = found
        self._given: list[Given] = []
        self._called: list[tuple[str, int]] = []
        self._written: set[str] = set()

    def read(self) -> Statements:
        at = 0
        while at < len(self._tokens):
            at = self._statement(at)
        written, lent = frozenset(self._written), frozenset(_lent(self._tokens))
        return Statements(tuple(self._given), tuple(self._called), written, lent)

    def _is(self, at: int, *signs: str) -> bool:
        return at < len(self._tokens) and self._tokens[at].text in signs

    def _path(self, at: int, most: int | None = None) -> tuple[str, int]:
        """A name with its members, and what stands behind; indexes are kept as they are."""
        most = len(self._tokens) if most is None else most
        parts = [self._tokens[at].text]
        at += 1
        while True:
            if self._is(at, ".") and at + 1 < most:
                parts += [".", self._tokens[at + 1].text]
                at += 2
            elif self._is(at, "[") and at < most:
                end = self._closing(at, "[", "]", most)
                parts += [token.text for token in self._tokens[at:end]]
                at = end
            elif self._is(at, "^"):
                at += 1
            else:
                return "".join(parts), at

    def _closing(self, at: int, opening: str, closing: str, most: int) -> int:
        """What stands behind the bracket that closes the one here; `most` where none does."""
        depth = 0
        while at < most:
            depth += self._is(at, opening) - self._is(at, closing)
            at += 1
            if depth == 0:
                break
        return at

    def _statement(self, at: int) -> int:
        token = self._tokens[at]
        if token.kind != "name" or token.text.casefold() in _FIRST_OF_STATEMENT:
            return at + 1
        path, behind = self._path(at)
        if self._is(behind, ":=", "?=", "S=", "R="):
            end = self._end(behind + 1, frozenset([";"]))
            words = frozenset(["to", "do", "then"])  # of FOR i := 1 TO 9 DO
            end = min([end, *self._first(behind + 1, end, words)])
            self._take(path, behind + 1, end, token.line)
            return end
        if self._is(behind, "("):
            return self._call(path, behind, token.line)
        return behind

    def _first(self, at: int, end: int, words: frozenset[str]) -> list[int]:
        return [n for n in range(at, end) if self._tokens[n].text.casefold() in words][:1]

    def _call(self, path: str, at: int, line: int) -> int:
        """Arguments of a call, or of a function in an expression, which gives nothing by name."""
        self._called.append((path, line))
        end, at = self._closing(at, "(", ")", len(self._tokens)), at + 1
        while at < end - 1:
            stop = self._end(at, frozenset([","]), end - 1)
            if self._tokens[at].kind == "name":
                name, behind = self._path(at, stop)
                if self._is(behind, ":=") and behind < stop:
                    self._take(f"{path}.{name}", behind + 1, stop, self._tokens[at].line)
                elif self._is(behind, "=>") and behind + 1 < stop:
                    self._written.add(self._expression(behind + 1, stop))
                else:
                    self._written.add(f"{path}.*")
            else:
                self._written.add(f"{path}.*")
            at = stop + 1
        return end

    def _end(self, at: int, marks: frozenset[str], most: int | None = None) -> int:
        """The first of some marks that stands within no bracket, or the end."""
        depth, most = 0, len(self._tokens) if most is None else most
        while at < most:
            text = self._tokens[at].text
            if depth <= 0 and text in marks:
                break
            depth += (text in "([") - (text in ")]") if len(text) == 1 else 0
            at += 1
        return at

    def _take(self, target: str, at: int, end: int, line: int) -> None:
        expression = self._expression(at, end)
        self._given.append(Given(target, expression, line))
        also = expression.split(":=")[:-1]  # a := b := 1 writes both
        self._written.update(path for path in also if _PATH.fullmatch(path))

    def _expression(self, at: int, end: int) -> str:
        """An expression as it is read by people, on one line."""
        text, before = "", ""
        for token in self._tokens[at:end]:
            both_words = before not in ("", "sign") and token.kind != "sign"
            text += f" {token.text}" if both_words else token.text
            before = token.kind
        return text


def _lent(found: list[Token]) -> Iterator[Lent]:
    """Variables that stand alone as arguments, of calls anywhere, and what a reference is made of.

    `REF=` and `ADR` are common practice without a source.
    """
    calls: list[tuple[str, list[Token]]] = []
    for at, token in enumerate(found):
        if token.text == "(":
            calls.append((_path_before(found, at), []))
        elif token.text in (",", ")", ";") and calls:
            called, argument = calls[-1]
            yield from _argument(called, argument)
            argument.clear()
            if token.text != ",":
                calls.pop()
            if token.text == ";":
                calls.clear()
        elif calls:
            calls[-1][1].append(token)
        if token.text.casefold() == "ref" and [one.text for one in found[at + 1 : at + 2]] == ["="]:
            rest = found[at + 2 : at + 34]
            ends = [n for n, one in enumerate(rest) if one.text == ";"]
            yield from _argument("ref", rest[: ends[0]] if ends else rest)


def _path_before(found: list[Token], at: int) -> str:
    """The path of what is called by the bracket here; empty where it is none of a call."""
    parts: list[str] = []
    while at > 0 and found[at - 1].kind == "name" and len(parts) < 32:
        parts.append(found[at - 1].text)
        at -= 1
        while at > 0 and found[at - 1].text == "^":
            at -= 1
        if at == 0 or found[at - 1].text != ".":
            break
        at -= 1
        while at > 0 and found[at - 1].text == "^":
            at -= 1
    return ".".join(reversed(parts))


def _argument(called: str, argument: list[Token]) -> Iterator[Lent]:
    name = ""
    if len(argument) > 2 and argument[1].text == ":=":
        name, argument = argument[0].text, argument[2:]
    is_path = argument and argument[0].kind == "name" and called
    if is_path and all(one.kind in ("name", "number") or one.text in ".[]^" for one in argument):
        yield Lent(called, name, "".join(one.text for one in argument))
