"""The viewer for another server: `webui.wsgi:application`, over the vault that $AXISVAULT names.

$AXISVAULT_PROXIES says how many servers in front set X-Forwarded-…; none is believed without it.
"""

from __future__ import annotations

import os
from pathlib import Path

from webui.app import create_app

application = create_app(
    Path(os.environ.get("AXISVAULT", "vault-data")),
    proxies=int(os.environ.get("AXISVAULT_PROXIES", "0")),
)
