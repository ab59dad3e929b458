"""Generated exports: each number of a seed is one, in a container and a dialect of its own."""

from __future__ import annotations

import zipfile
from io import BytesIO
from random import Random

from tests.drafting import grids, spelling, trees
from tests.drafting.parameters import invent
from tests.drafting.truth import Style, TrueExport, TrueParameter

CONTAINERS = (
    "delimited", "delimited", "delimited", "fixed", "ini", "lines", "xml elements",
    "xml attributes", "json list", "json mapping", "json values", "xlsx", "ods", "xls",
)  # fmt: skip
_SUFFIX = {"delimited": "csv", "fixed": "txt", "ini": "ini", "lines": "txt"}
_SIZES = (5, 8, 12, 20, 40, 60, 90, 140, 300, 300)
_TABLES = {
    "delimited": grids.delimited, "fixed": grids.fixed, "xlsx": grids.xlsx, "ods": grids.ods,
    "xls": grids.xls,
}  # fmt: skip
_TREES = {
    "ini": trees.keyed, "lines": trees.keyed, "xml elements": trees.xml_elements,
    "xml attributes": trees.xml_attributes, "json list": trees.json_list,
    "json mapping": trees.json_mapping, "json values": trees.json_plain,
}  # fmt: skip
_ENCODINGS = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "windows-1252", "iso-8859-1")


def export_of(
    seed: int, number: int, *, container: str = "", size: int = 0, largest: int = 300
) -> TrueExport:
    """The export of a number, the same each time; of every hundredth 2,000 parameters."""
    size = size or (2000 if number % 100 == 99 and largest >= 300 else 0)
    random = Random(f"{seed}/{number}")
    style = _style(random, container or CONTAINERS[number % len(CONTAINERS)])
    axes = random.choice((2, 3)) if style.axes else 1
    parameters = invent(
        random,
        style.language,
        size or min(random.choice(_SIZES), largest),
        axes,
        repeats=bool(style.sections) and random.random() < 0.5,
        marked=random.random() < 0.2 and style.container not in ("ini", "lines"),
    )
    parameters = _storable(parameters, style)
    if style.container in _TABLES:
        content = _TABLES[style.container](grids.grid(parameters, axes, style), style)
    else:
        content = _TREES[style.container](parameters, axes, style)
    file = f"export.{_SUFFIX.get(style.container, style.container.split()[0])}"
    if style.archive:
        content, file = _zipped(content, file), "export.zip"
    channels = tuple(range(1, axes + 1)) if style.axes else ()
    plate = dict(spelling.PLATE) if style.plate else {}
    return TrueExport(content, file, style, parameters, channels, plate)


def _style(random: Random, container: str) -> Style:
    is_table, is_text = container in _TABLES, container in ("delimited", "fixed", "ini", "lines")
    is_json = container.startswith("json")
    decimal = random.choice(".,") if not is_json else "."
    delimiter = random.choice(";;\t|,")
    thousands = random.choice(("", "", "", "." if decimal == "," else ",", "'", " "))
    if container in ("ini", "lines") or is_json or (container == "delimited" and delimiter == ","):
        thousands = ""
    units = random.choice(("column", "column", "column", "value", "nowhere"))
    if container == "lines":
        units = random.choice(("value", "nowhere"))
    if container == "ini":
        units = random.choice(("column", "value", "name", "nowhere"))
    if container == "json values":
        units = "nowhere"
    sections = random.choice(("", "", "column", "heading")) if container != "json values" else ""
    axes = random.choice(("", "", "", "column", "heading"))
    if is_json or container == "lines":
        sections = axes = ""
    if not is_table and axes:
        sections = "" if container == "ini" else sections
    if axes == "heading" and sections == "heading":
        sections = ""
    return Style(
        container=container,
        language=random.choice(("en", "de")),
        decimal=decimal,
        thousands=thousands,
        units=units,
        columns=_columns(random, units, sections if is_table else "", axes if is_table else ""),
        sections=sections,
        axes=axes,
        title=random.random() < 0.5,
        plate=random.random() < 0.6,
        time_form=random.choice(spelling.TIME_FORMS),
        comments=is_text and container != "ini" and random.random() < 0.2 and sections == "",
        footer=is_table and random.random() < 0.2,
        encoding=random.choice(_ENCODINGS) if is_text else "utf-8",
        line_end=random.choice(("\n", "\r\n")),
        quotes=random.random() < 0.3,
        delimiter=delimiter,
        headings=random.randrange(4),
        archive=random.random() < 0.1 and container not in ("xlsx", "ods", "xls"),
    )


def _columns(random: Random, units: str, sections: str, axes: str) -> tuple[str, ...]:
    columns = ["code", "name", "value"]
    columns += ["unit"] if units == "column" else []
    if random.random() < 0.4:
        columns += ["low", "high"]
    columns += ["default"] if random.random() < 0.3 else []
    columns += ["access"] if random.random() < 0.3 else []
    if random.random() < 0.4:
        random.shuffle(columns)
    columns[:0] = ["section"] if sections == "column" else []
    columns[:0] = ["channel"] if axes == "column" else []
    return tuple(columns)


def _storable(parameters: tuple[TrueParameter, ...], style: Style) -> tuple[TrueParameter, ...]:
    """Those whose name and values the container can hold at all."""
    unfit = {
        "fixed": lambda text: "  " in text,
        "lines": lambda text: ":" in text or ";" in text,
        "ini": lambda text: ";" in text,
    }.get(style.container)
    if unfit is None:
        return parameters
    return tuple(
        one
        for one in parameters
        if not any(unfit(text) for text in (one.name, *map(str, one.values)))
    )


def _zipped(content: bytes, name: str) -> bytes:
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(zipfile.ZipInfo(name, (2026, 3, 14, 9, 30, 0)), content)
    return stream.getvalue()
