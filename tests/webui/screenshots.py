"""Takes the pictures of README and manual anew: `python -m tests.webui.screenshots`."""

from __future__ import annotations

import struct
import zlib
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from playwright.sync_api import ViewportSize

from tests.webui.browsing import chromium, served
from vault.jobs.demo.controllers import add_controllers
from vault.jobs.demo.demo import build_demo
from vault.jobs.demo.lived_in import add_acts
from vault.jobs.demo.unknown_drive import add_unknown_drive
from vault.jobs.restore.open_plans import open_plans
from vault.store.vault import Vault

if TYPE_CHECKING:
    from playwright.sync_api import Browser

FOLDER = Path(__file__).parent / "screenshots"
_PHONE: ViewportSize = {"width": 390, "height": 860}
_DESK: ViewportSize = {"width": 1280, "height": 900}
_HOIST = "kiln-loader/hoist"
_ON_A_PHONE = {
    "site": "/",
    "difference": f"/compare?left={_HOIST}@~3&right={_HOIST}@~2",
    "restore": f"/restore/{_HOIST}/sheet",
    "trial": "/axis/glaze-line-1/lift/trial",
    "trace": "/axis/kiln-loader/pusher/trace/latest",
}
_ON_A_DESK = {
    "plan": "/restore/{axis}/plan/{number}",
    "difference-wide": f"/compare?left={_HOIST}@~3&right={_HOIST}@~2",
    "machines": "/compare?left=glaze-line-1&right=glaze-line-2",
    "search": "/find?text=brake",
    "baselines": "/baselines?act=approve",
    "logbook": f"/axis/{_HOIST}",
}


def main() -> None:
    """Build the demo vault, and take them all."""
    with TemporaryDirectory() as folder:
        vault_folder = Path(folder) / "vault"
        build_demo(vault_folder, lambda done, wanted: None)
        add_unknown_drive(vault_folder, lambda done, wanted: None)
        add_controllers(vault_folder, lambda done, wanted: None)
        add_acts(vault_folder)
        take(vault_folder)


def take(vault_folder: Path) -> None:
    """Take every picture of a demo vault."""
    with Vault.open(vault_folder) as vault:
        plan = open_plans(vault)[0]
    known = {"axis": str(plan.address), "number": plan.record.number}
    with chromium() as browser, served(vault_folder) as address:
        for places, size in ((_ON_A_PHONE, _PHONE), (_ON_A_DESK, _DESK)):
            _take(browser, address, size, {n: p.format(**known) for n, p in places.items()})


def _take(browser: Browser, address: str, size: ViewportSize, places: dict[str, str]) -> None:
    page = browser.new_context(base_url=address, viewport=size, color_scheme="light").new_page()
    for name, place in places.items():
        page.goto(place)
        (FOLDER / f"{name}.png").write_bytes(with_palette(page.screenshot()))


def with_palette(png: bytes) -> bytes:
    """The same picture in at most 256 colours: the most frequent ones, others as the nearest.

    PNG (W3C, third edition): colour type 3, one byte a pixel, no filter. Takes 8 bit RGB.
    """
    chunks = _chunks(png)
    width, height, depth, kind = struct.unpack(">IIBB", chunks["IHDR"][:10])
    if (depth, kind) != (8, 2):
        raise ValueError("a picture of 8 bit RGB is wanted")
    pixels = _pixels(zlib.decompress(chunks["IDAT"]), width, height)
    counted = Counter(pixels)
    palette = [colour for colour, _ in counted.most_common(256)]
    number = {colour: place for place, colour in enumerate(palette)}
    for colour in counted:
        if colour not in number:
            number[colour] = min(range(len(palette)), key=lambda n: _apart(palette[n], colour))
    rows = (pixels[at : at + width] for at in range(0, width * height, width))
    lines = b"".join(b"\0" + bytes(map(number.__getitem__, row)) for row in rows)
    return b"".join((
        png[:8],
        _chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 3, 0, 0, 0)),
        _chunk(b"PLTE", b"".join(palette)),
        _chunk(b"IDAT", zlib.compress(lines, 9)),
        _chunk(b"IEND", b""),
    ))  # fmt: skip


def _apart(one: bytes, other: bytes) -> int:
    return sum((a - b) ** 2 for a, b in zip(one, other, strict=True))


def _chunks(png: bytes) -> dict[str, bytes]:
    found: dict[str, bytes] = {}
    at = 8
    while at < len(png):
        size, name = struct.unpack(">I4s", png[at : at + 8])
        found[name.decode()] = found.get(name.decode(), b"") + png[at + 8 : at + 8 + size]
        at += 12 + size
    return found


def _chunk(name: bytes, content: bytes) -> bytes:
    check = struct.pack(">I", zlib.crc32(name + content))
    return struct.pack(">I", len(content)) + name + content + check


def _pixels(lines: bytes, width: int, height: int) -> list[bytes]:
    """Colours of a picture row by row, its filters undone (PNG, clause 9)."""
    size, above, found = width * 3, bytearray(width * 3), []
    for row in range(height):
        kind, line = (
            lines[row * (size + 1)],
            bytearray(lines[row * (size + 1) + 1 : (row + 1) * (size + 1)]),
        )
        for n in range(size):
            left, up = line[n - 3] if n > 2 else 0, above[n]
            corner = above[n - 3] if n > 2 else 0
            line[n] = (line[n] + _predicted(kind, left, up, corner)) & 255
        found += [bytes(line[n : n + 3]) for n in range(0, size, 3)]
        above = line
    return found


def _predicted(kind: int, left: int, up: int, corner: int) -> int:
    if kind < 4:
        return (0, left, up, (left + up) // 2)[kind]
    guess = left + up - corner
    return min((left, up, corner), key=lambda one: abs(guess - one))


if __name__ == "__main__":
    main()
