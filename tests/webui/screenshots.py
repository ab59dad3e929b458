"""Takes the pictures of the README anew: `python -m tests.webui.screenshots`."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import ViewportSize

from tests.webui.browsing import chromium, served
from vault.jobs.demo.demo import build_demo
from vault.jobs.demo.lived_in import add_acts
from vault.jobs.demo.unknown_drive import add_unknown_drive

_FOLDER = Path(__file__).parent / "screenshots"
_PHONE: ViewportSize = {"width": 390, "height": 860}
_HOIST = "kiln-loader/hoist"
_TAKEN = {
    "site": "/",
    "difference": f"/compare?left={_HOIST}@~3&right={_HOIST}@~2",
    "restore": f"/restore/{_HOIST}/sheet",
}


def main() -> None:
    """Build the demo vault, and take them all."""
    with TemporaryDirectory() as folder:
        vault_folder = Path(folder) / "vault"
        build_demo(vault_folder, lambda done, wanted: None)
        add_unknown_drive(vault_folder, lambda done, wanted: None)
        add_acts(vault_folder)
        with chromium() as browser, served(vault_folder) as address:
            page = browser.new_context(base_url=address, viewport=_PHONE).new_page()
            for name, place in _TAKEN.items():
                page.goto(place)
                page.screenshot(path=_FOLDER / f"{name}.png")


if __name__ == "__main__":
    main()
