"""The viewer for another server: `webui.wsgi:application`, over the vault that $AXISVAULT names.

$AXISVAULT_PROXIES says how many servers in front set X-Forwarded-…; none is believed without it.
$AXISVAULT_MOST_WORK bounds how much long work of one account runs at a time.
"""

from __future__ import annotations

import os
from pathlib import Path

from webui.app import create_app

application = create_app(
    Path(os.environ.get("AXISVAULT", "vault-data")),
    proxies=int(os.environ.get("AXISVAULT_PROXIES", "0")),
    most_work=int(os.environ["AXISVAULT_MOST_WORK"])
    if "AXISVAULT_MOST_WORK" in os.environ
    else None,
)
