"""EDS and DCF files of canopen, a library that writes and reads them on its own.

Those that it ships are other people's files, so they are fetched, not kept here.
"""

from __future__ import annotations

import io
import random
import subprocess
import sys
import tarfile
from importlib.metadata import version
from pathlib import Path
from typing import Any

import canopen
from canopen.objectdictionary import ODRecord, ODVariable
from canopen.objectdictionary.eds import export_dcf, export_eds

from vault.model.datatypes import BY_NAME

_WHOLE = [name for name, kind in BY_NAME.items() if kind.family in ("integer", "unsigned")]


class NotFetched(Exception):
    """Pip got no source distribution of the library, as on a machine without a registry."""


def shipped(folder: Path) -> dict[str, str]:
    """What the source distribution holds, of whichever version we use, by name.

    It is unpacked from `folder`. Raises NotFetched.
    """
    wanted = ["--no-deps", "--no-binary", "canopen", f"canopen=={version('canopen')}"]
    command = [sys.executable, "-m", "pip", "download", "--dest", str(folder), *wanted]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        said = (done.stderr or done.stdout).strip().splitlines()[-1:]
        raise NotFetched(f"pip got no source distribution of canopen: {said}")
    (archive,) = folder.glob("*.tar.gz")
    found = {}
    with tarfile.open(archive) as packed:
        for one in packed:
            file = packed.extractfile(one) if one.name.endswith((".eds", ".dcf")) else None
            if file is not None:
                found[Path(one.name).name] = file.read().decode()
    return found


def written(seed: int, *, description: bool = False) -> str:
    """A file that the library writes of invented objects: a DCF with values, or their EDS."""
    dice = random.Random(seed)
    od: Any = canopen.ObjectDictionary()
    od.node_id, od.bitrate = 7, 500_000
    for index in range(0x2000, 0x2000 + 40):
        od.add_object(_variable(dice, index, 0))
    for index in range(0x6000, 0x6000 + 12):
        record = ODRecord(f"Record {index:04X}", index)
        od.add_object(record)
        for sub in range(dice.randint(1, 5)):
            record.add_member(_variable(dice, index, sub))
    return _text(od, description=description)


def written_again(text: str, *, description: bool = False) -> str:
    """A file as the library writes it after having read it."""
    source: Any = io.StringIO(text)
    source.name = "a.dcf"
    return _text(canopen.import_od(source), description=description)


def _variable(dice: random.Random, index: int, sub: int) -> Any:
    entry: Any = ODVariable(f"Setting {index:04X} {sub}", index, sub)
    kind = BY_NAME[dice.choice(_WHOLE)]
    entry.data_type, entry.access_type = kind.number, "rw"
    entry.value = entry.default = dice.randint(0, 100)
    return entry


def _text(od: Any, *, description: bool) -> str:
    text = io.StringIO()
    if description:
        export_eds(od, text, {})  # else it adds the head of an export before
    else:
        export_dcf(od, text, {})
    return text.getvalue()
