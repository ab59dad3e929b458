"""What a device description says of a kind of device, whatever file it stands in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from vault.model.export import Access, Scalar, SkippedLine


@dataclass(frozen=True, slots=True)
class DescribedParameter:
    """One parameter as a description has it; None and empty where it says nothing.

    `code` is spelled as our codes are: `0x6065:00`, or the number of a CIP parameter. `low`,
    `high`, `default` and the numbers of `choices` are what the device holds; times `scale` they
    are in `unit`, which is spelled as in the file. `group` is what the file places it under: a
    group, or the record or array that it is part of. `is_mappable` says that it can be process
    data; `is_count` marks what only says how many entries an object has.
    """

    code: str
    name: str
    line: int
    data_type: str | None = None
    unit: str | None = None
    scale: Decimal | None = None
    low: Scalar | None = None
    high: Scalar | None = None
    default: Scalar | None = None
    choices: Mapping[int, str] = field(default_factory=dict)
    access: Access | None = None
    group: str = ""
    help: str = ""
    is_mappable: bool = False
    is_count: bool = False


@dataclass(frozen=True, slots=True)
class Description:
    """A device description: its kind, the device it is of, and its objects by code, as in the file.

    `kind` is one of those of `vault.formats.describe.registry`. `skipped` are lines that could not
    be understood, or of which something was left out.
    """

    kind: str
    title: str
    vendor: str
    product: str
    version: str
    objects: tuple[DescribedParameter, ...]
    skipped: tuple[SkippedLine, ...] = ()
