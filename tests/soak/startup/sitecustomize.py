"""What every process of a soak does first: its clock steps, and it tells where it is on demand.

Python imports a module of this name by itself, so that children are no exception.
"""

from __future__ import annotations

import faulthandler
import os
import signal
import time
from datetime import datetime, tzinfo
from pathlib import Path

faulthandler.register(signal.SIGUSR1, all_threads=True)

if "SOAK_CLOCK" in os.environ:
    from vault.store import clock

    class Stepped(datetime):
        """The time with as many seconds added as the file of this copy says."""

        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Stepped:
            ahead = float(Path(os.environ["SOAK_CLOCK"]).read_text() or 0)
            return cls.fromtimestamp(time.time() + ahead, tz)

    clock.datetime = Stepped  # type: ignore[attr-defined]
