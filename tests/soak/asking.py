"""People at the viewer of each copy: pages, their data, and exports that are sent to it."""

from __future__ import annotations

import json
import re
import urllib.error
import urllib.request
from dataclasses import dataclass
from http.client import HTTPException
from random import Random
from uuid import uuid4

from tests.soak.copies import Plant
from tests.soak.exports import AXES, Put
from tests.soak.processes import LONGEST

_PAGES = (
    "/", "/healthz", "/axis/{}", "/axis/{}/at/latest", "/axis/{}/margins", "/axis/{}/record",
    "/axis/{}/parameter/lim/lag", "/api/v1/axis/{}", "/api/v1/axis/{}/at/first", "/machine/m1",
    "/api/v1/search?text=lift", "/baselines", "/alerts", "/faults", "/waivers", "/health",
    "/find?parameter=lim/lag", "/refused",
)  # fmt: skip


_SAID = re.compile(r"<main.*?</main>", re.DOTALL)
_TAG = re.compile(r"<[^>]*>")


@dataclass(frozen=True, slots=True)
class Answer:
    """What the viewer said: its status, None where it could not be reached, 0 where it hung."""

    status: int | None
    text: str

    @property
    def said(self) -> str:
        """What of it is for people, in short."""
        found = _SAID.search(self.text)
        return " ".join(_TAG.sub(" ", found[0] if found else self.text).split())[:1500]


def ask(address: str, random: Random) -> tuple[str, Answer]:
    """Ask for a page; returns which one too."""
    page = random.choice(_PAGES)
    request = urllib.request.Request(address.rstrip("/") + page.format(random.choice(AXES)))
    return page, _answer(request)


def send(address: str, plant: Plant, token: str, put: Put) -> Answer:
    """Have the viewer take an export in, as a script does."""
    edge = uuid4().hex
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="axis"\r\n\r\n{put.axis}\r\n',
        f'--{edge}\r\nContent-Disposition: form-data; name="export"; filename="{put.name}"'
        f"\r\n\r\n{put.content.decode()}\r\n--{edge}--\r\n",
    ]
    kind = f"multipart/form-data; boundary={edge}"
    headers = {"Authorization": f"Bearer {token}", "Content-Type": kind}
    where = f"{address}api/v1/take-in"
    return _answer(urllib.request.Request(where, "".join(parts).encode(), headers))


def stored(answer: Answer) -> bool:
    """Whether an export that was sent is in the vault now."""
    return answer.status == 200 and bool(json.loads(answer.text).get("snapshot"))


def _answer(request: urllib.request.Request) -> Answer:
    try:
        with urllib.request.urlopen(request, timeout=LONGEST) as found:
            return Answer(found.status, found.read().decode("utf-8", "replace"))
    except urllib.error.HTTPError as error:
        with error:
            return Answer(error.code, error.read().decode("utf-8", "replace"))
    except TimeoutError:
        return Answer(0, f"no answer within {LONGEST:g} s")
    except OSError as error:
        if isinstance(getattr(error, "reason", None), TimeoutError):
            return Answer(0, f"no answer within {LONGEST:g} s")
        return Answer(None, str(error))
    except HTTPException as error:  # it ended in the middle of a page
        return Answer(None, repr(error))
