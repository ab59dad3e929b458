"""Writes the exports and the manifests of the invented tile works, the same bytes at every run.

Run as `python -m example_machines.write_exports [FOLDER]`; without a folder it writes beside
itself.
"""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Sequence
from pathlib import Path

from example_machines import (
    FOLDER,
    alder_export,
    controller_project,
    hazel_export,
    larch_export,
    rowan_export,
    story_controllers,
    story_glaze_line_1,
    story_glaze_line_2,
    story_kiln_loader,
    story_palletiser,
)
from example_machines.story_controllers import ControllerStory
from example_machines.visits import AxisStory, State, Visit

MANIFEST_COLUMNS = (
    "file", "machine", "axis", "family", "taken_at", "occasion", "by", "work_order", "note",
    "channel",
)  # fmt: skip
AXES: tuple[AxisStory, ...] = (
    *story_glaze_line_1.AXES,
    *story_glaze_line_2.AXES,
    *story_kiln_loader.AXES,
)
DRAFTED_AXES: tuple[AxisStory, ...] = story_palletiser.AXES
"""Axes of the family whose dictionary was drafted; they have a manifest of their own."""

MANIFESTS = {"manifest.csv": AXES, "palletiser.csv": DRAFTED_AXES}
CONTROLLERS = "controllers.csv"
CONTROLLER_COLUMNS = (
    "file", "machine", "axis", "side", "taken_at", "occasion", "by", "work_order", "note",
)  # fmt: skip
TWO_AXIS_FOLDER = "shuttle-and-pusher"
_ENDINGS = {"alder": "dcf", "rowan": "csv", "larch": "txt", "hazel": "xlsx"}


def export_path(state: State) -> str:
    """Where an export lies, relative to the manifest."""
    story = state.story
    folder = TWO_AXIS_FOLDER if story.channel is not None else story.axis
    return f"exports/{story.machine}/{folder}/{state.visit.file_stem}.{_ENDINGS[story.family]}"


def exports() -> dict[str, bytes]:
    """Every export by its path, as the tools of the drives write it."""
    states: dict[str, list[State]] = {}
    for story in (*AXES, *DRAFTED_AXES):
        for state in story.states():
            states.setdefault(export_path(state), []).append(state)
    return {path: _text(members) for path, members in states.items()}


def _text(members: list[State]) -> bytes:
    family = members[0].story.family
    if family == "larch":
        return larch_export.text(members)
    (state,) = members
    writers = {"alder": alder_export.text, "rowan": rowan_export.text, "hazel": hazel_export.text}
    return writers[family](state)


def manifest(stories: Sequence[AxisStory] = AXES) -> bytes:
    """A manifest: one row per axis and visit, oldest first."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(MANIFEST_COLUMNS)
    states = [state for story in stories for state in story.states()]
    for state in sorted(states, key=lambda one: one.visit.taken_at[:16]):
        story, visit = state.story, state.visit
        writer.writerow(
            (
                export_path(state),
                story.machine,
                story.axis,
                story.family,
                visit.taken_at,
                visit.occasion,
                visit.by,
                visit.work_order,
                visit.note,
                "" if story.channel is None else story.channel,
            )
        )
    return text.getvalue().encode("utf-8")


def project_path(story: ControllerStory, visit: Visit) -> str:
    """Where a project of a controller lies, relative to its manifest."""
    return f"exports/{story.machine}/controller/{visit.file_stem}.xml"


def projects() -> dict[str, bytes]:
    """Every project of a controller by its path, as its own tool writes it."""
    return {
        project_path(story, visit): controller_project.text(release)
        for story in story_controllers.CONTROLLERS
        for visit, release in story.visits
    }


def controllers_manifest() -> bytes:
    """The manifest of the projects: a row per axis, since each of them is of all axes."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(CONTROLLER_COLUMNS)
    visits = [(v, s) for s in story_controllers.CONTROLLERS for v, _ in s.visits]
    for visit, story in sorted(visits, key=lambda one: one[0].taken_at):
        path = project_path(story, visit)
        for axis in story_controllers.AXES:
            writer.writerow(
                (path, story.machine, axis, "controller", visit.taken_at, visit.occasion,
                 visit.by, visit.work_order, visit.note)
            )  # fmt: skip
    return text.getvalue().encode("utf-8")


def write(folder: Path) -> int:
    """Write everything below a folder; returns the number of exports."""
    files = {**exports(), **projects()}
    manifests = {name: manifest(stories) for name, stories in MANIFESTS.items()}
    manifests[CONTROLLERS] = controllers_manifest()
    for path, content in {**files, **manifests}.items():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    return len(files)


if __name__ == "__main__":
    written = write(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
    print(f"{written} exports written")
