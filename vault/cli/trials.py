"""Commands about trials: the form, adding one, listing them."""

from __future__ import annotations

import click


@click.group()
def trial() -> None:
    """Trials: what was tried on an axis after set-up or repair, as a record.

    No acceptance of a safety function: that is another paper.
    """
