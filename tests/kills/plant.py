"""A small vault with a copy beside it, and the commands that write to it. All of it is invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from random import Random

from vault.jobs.records.edit import add_family, set_site
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
_FAMILY = """\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented, for tests)
export:
  format: delimited
  delimiter: ";"
  columns: {code: Code, name: Name, value: Value, unit: Unit}
  nameplate: {Drive: drive, Saved: taken_at}
  recognise: {drive: ^HZ-}
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, unit: mm}
  mov/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, unit: mm/s}
  ref/way: {name: Homing method, role: homing_method, type: INTEGER8}
"""
_SITE = """\
schema: axisvault/vault/1
site: Tile works (invented)
approval: {reason: true}
alerts: [{name: log, kind: file, path: FOLDER/alerts.jsonl}]
"""
_WAIVER = ("lim/lag", "--until", "2099-01-01", "--reason", "kills")
AXES = ("m1/lift", "m1/belt", "m2/lift")


@dataclass(frozen=True, slots=True)
class Step:
    """A command line, and the SHA-256 of exports that are kept for good once it has ended well."""

    words: tuple[str, ...]
    exports: tuple[str, ...] = ()


def build(folder: Path) -> Path:
    """Make the vault `plant`, its copy `laptop`, and files that commands read."""
    (folder / "hazel.yaml").write_text(_FAMILY)
    (folder / "site.yaml").write_text(_SITE.replace("FOLDER", str(folder)))
    with Vault.create(folder / "plant", "Tile works (invented)", BY) as vault:
        add_family(vault, folder / "hazel.yaml", BY)
        set_site(vault, folder / "site.yaml", BY)
        Vault.copy(folder / "laptop", str(vault.repository.path)).close()
    return folder / "plant"


class Commands:
    """Draws writing commands one after the other, each with files of its own."""

    def __init__(self, folder: Path, random: Random) -> None:
        self._folder, self._random, self._number = folder, random, 0
        self._makers: tuple[Callable[[], Step], ...] = (
            self._ingest, self._ingest, self._late, self._tree, self._watch, self._approve,
            self._approve_all, self._waive, self._waive_all, self._axis, self._fault,
            self._note, self._redate, self._plan, self._check, self._take, self._give,
            self._reindex, self._drift, self._site, self._family, self._user, self._trial,
            self._trace, self._controller,
        )  # fmt: skip

    def first(self) -> list[Step]:
        """One export of each axis, so that every command has something to work on."""
        return [self._export("ingest", axis, "2026-01-01T08:00:00Z") for axis in AXES]

    def next(self) -> Step:
        """Another command."""
        return self._random.choice(self._makers)()

    def _file(self, name: str, saved: str = "") -> tuple[Path, str]:
        self._number += 1
        path = self._folder / name.format(self._number)
        path.parent.mkdir(parents=True, exist_ok=True)
        plate = f"Saved;{saved};;\n" if saved else ""
        text = (
            f"Drive;HZ-04;;\n{plate}Code;Name;Value;Unit\nlim/lag;Window;{self._number};mm\n"
            f"mov/speed;Speed;{100 + self._number % 7};mm/s\nref/way;Homing;1;\n"
        )
        path.write_text(text)
        return path, sha256(text.encode()).hexdigest()

    def _axis_name(self) -> str:
        return self._random.choice(AXES)

    def _export(self, command: str, axis: str, taken: str, *more: str) -> Step:
        path, digest = self._file("{}.csv")
        words = (command, str(path), "--to", axis, "--taken-at", taken, "--even-so", "kills", *more)
        return Step(words, (digest,))

    def _moment(self) -> str:
        day, minute = divmod(self._number + 1, 1440)
        return f"2026-02-{day + 1:02}T{minute // 60:02}:{minute % 60:02}:00Z"

    def _ingest(self) -> Step:
        return self._export("ingest", self._axis_name(), self._moment())

    def _late(self) -> Step:
        day = self._random.randint(2, 28)
        return self._export("ingest", self._axis_name(), f"2026-01-{day:02}T08:00:00Z")

    def _tree(self) -> Step:
        name = f"tree-{self._number}"
        digests = [
            self._file(f"{name}/{axis}/{{}}.csv", self._moment())[1] for axis in AXES
        ]  # the axes are new for the guards: each file says its own moment
        return Step(("ingest-tree", str(self._folder / name), "--even-so", "kills"), tuple(digests))

    def _watch(self) -> Step:
        self._file(f"drop/{self._axis_name()}/{{}}.csv", self._moment())
        return Step(("watch", str(self._folder / "drop"), "--once", "--settle", "0"))

    def _approve(self) -> Step:
        return Step(("golden", "approve", self._axis_name(), "--reason", "kills"))

    def _approve_all(self) -> Step:
        return Step(("golden", "approve", "*", "--reason", "kills"))

    def _waive(self) -> Step:
        return Step(("golden", "waive", self._axis_name(), *_WAIVER))

    def _waive_all(self) -> Step:
        return Step(("golden", "waive", "*/lift", *_WAIVER))

    def _axis(self) -> Step:
        self._number += 1
        path = self._folder / f"{self._number}.yaml"
        path.write_text(f"schema: axisvault/axis/1\ntitle: Axis {self._number}\n")
        return Step(("axis", "set", self._axis_name(), str(path)))

    def _fault(self) -> Step:
        return Step(("fault", "add", self._axis_name(), "--code", "8611h"))

    def _note(self) -> Step:
        self._number += 1
        return Step(("note", "add", self._axis_name(), f"note {self._number}"))

    def _redate(self) -> Step:
        self._number += 1
        taken = f"2025-{self._number % 12 + 1:02}-01T08:00:00Z"
        selector = f"{self._axis_name()}@{self._random.choice(('first', 'latest'))}"
        return Step(("note", "add", selector, "kills", "--taken-at", taken))

    def _plan(self) -> Step:
        self._number += 1
        out = self._folder / f"plan-{self._number}"
        return Step(("restore", "plan", self._axis_name(), "--out", str(out)))

    def _check(self) -> Step:
        path, digest = self._file("{}.csv")
        words = ("restore", "check", self._axis_name(), str(path), "--even-so", "kills")
        return Step((*words, "--taken-at", self._moment()), (digest,))

    def _take(self) -> Step:
        return Step(("sync", "take", str(self._folder / "laptop"), "--keep", "here"))

    def _give(self) -> Step:
        return Step(("sync", "give", str(self._folder / "stick.bundle")))

    def _trial(self) -> Step:
        self._number += 1
        path = self._folder / f"trial-{self._number}.yaml"
        path.write_text("schema: axisvault/trial/1\njog: {stops: ok}\n")
        return Step(("trial", "add", self._axis_name(), str(path), "--taken-at", self._moment()))

    def _trace(self) -> Step:
        self._number += 1
        path = self._folder / f"trace-{self._number}.csv"
        rows = (f"{n};{n * (1 + self._number % 5)}\n" for n in range(60))
        path.write_text(f"time [ms];position [mm]\n{''.join(rows)}")
        return Step(("trial", "trace", self._axis_name(), str(path), "--taken-at", self._moment()))

    def _controller(self) -> Step:
        return self._export(
            "ingest", self._axis_name(), self._moment(), "--side", "controller", "--family", "hazel"
        )

    def _reindex(self) -> Step:
        return Step(("reindex",))

    def _drift(self) -> Step:
        return Step(("drift", "--alert"))

    def _site(self) -> Step:
        self._number += 1
        path = self._folder / f"site-{self._number}.yaml"
        site = (self._folder / "site.yaml").read_text()
        path.write_text(f"{site}export_every: {self._number} days\n")
        return Step(("site", "set", str(path)))

    def _family(self) -> Step:
        self._number += 1
        path = self._folder / f"family-{self._number}.yaml"
        path.write_text(_FAMILY.replace("for tests", f"for tests, {self._number}"))
        return Step(("family", "add", str(path)))

    def _user(self) -> Step:
        self._number += 1
        word = self._folder / "word"
        word.write_text("plum tea on the loom\n")
        rest = ("--person", BY, "--role", "admin", "--password-file", str(word))
        return Step(("user", "add", f"mira{self._number}", *rest))
