"""What jobs say of the command line, in the words of a page: there a field or a link does it.

The command line and the viewer are told the same by the jobs. What has words of its own here is
said in them; of the rest, what only the command line can do is left out.
"""

from __future__ import annotations

import re

_IN_A_FORM = (
    ("--reason TEXT", "put it under Reason"),
    ("axisvault axis list shows what is retired", "the page of the machine shows what is retired"),
    ("axisvault axis list", "the site page lists machines and axes"),
    ("axisvault ingest FILE --to M/A", "take an export in: see Take in above"),
    ("--accept ", ""),
    ("axisvault golden approve ", "approve a state of "),
    ("axisvault trial template ", "keep a trial of "),
    (", or say why it is right without: --even-so", ", or say in the form why it is right without"),
    ("another one has another time: --taken-at TIME", "another one has another time"),
    ("say the node id: --node-id N", "put the node id under 'Node id'"),
    ("; --all shows every line", ""),
    ("; --all shows every one", ""),
    ("--partial takes", "a tick at 'leave out lines that cannot be read' takes"),
    ("--taken-at file dates it so, --taken-at now dates it today; or give the time",
     "put file, now or a time under Taken"),
    ("say it yourself: --taken-at TIME", "put a time under Taken"),
    ("say it: --taken-at TIME", "put a time under Taken"),
    ("say why: --even-so REASON", "say why in the form"),
    ("say why it may run: --even-so", "say why it may run in the form"),
    ("as what it is: --even-so REASON", "as what it is, with a reason in the form"),
    ("pick one: --channel N", "pick one under 'Axis within the file'"),
    ("say what it is: axisvault family draft FILE --name NAME "
     "--say columns.code=HEADING --say columns.value=HEADING",
     "where its rows are shown, say under Columns which are the codes and the values"),
    ("give it with --describe FILE beside", "send it under 'Device descriptions', beside"),
    ("take it in: axisvault ingest FILE --to MACHINE/AXIS", "take it in: see Take in above"),
    ("axisvault machine list", "the site page lists the machines"),
    ("this may be an export of another family: name it with --family",
     "this may be an export of another family: choose it under Family"),
    ("name its family with --family, or draft", "choose its family, or draft"),
    ("say which one: --device NAME", "say which one under Device"),
    ("take it in by hand with --taken-at TIME", "take it in by hand, with a time under Taken"),
    ("; --taken-at file dates it so", "; 'file' under Taken dates it so"),
    ("name the code: --fault CODE", "name its code"),
    ("or keep this one all the same: --even-so REASON", "or say in the form why it is kept"),
    ("the load file has them as they were: --adapt corrects them",
     "the load file has those as they were that are not ticked"),
    ("not in the load file; --adapt takes the nearest limit",
     "not in the load file, unless the nearest limit is ticked"),
    ("For a drive of another family name that: --onto FAMILY.",
     "For a drive of another family choose that under Family."),
    ("`show --reread` and `compare` read by today's", "a comparison reads by today's"),
    ("CODE=ROLE, or --none CODE", "choose a role, or none"),
    ("say one, or --none", "choose one, or none"),
    ("say what it is, as --say 'delimiter=;' or --say columns.value=HEADING",
     "say what it is where its rows are shown"),
    ("; --none CODE for no role", ""),
    ("axisvault ingest FILE --to MACHINE/AXIS", "take it in: see Take in above"),
    ("axisvault ingest FILE", "take it in: see Take in above"),
    ("axisvault family roles", "the list of roles stands in the manual"),
    ("axisvault margins M/A lists them", "the page of the axis's margins lists them"),
    ("axisvault manual", "the manual lists them"),
)  # fmt: skip
OF_THE_COMMAND_LINE = re.compile(r"\baxisvault (?!may\b|wrote\b|never\b)-*[a-z]+|(?<![\w-])--[a-z]")
"""A command of ours, or an option; as `axisvault verify`, `--even-so`."""
_COMMAND_AFTER = re.compile(r",? ?:? ?(?:then: )?\baxisvault (?!may\b|wrote\b|never\b)-*[a-z][^;]*")


def page_words(text: str) -> str:
    """What was said, in the words of a page; empty where it was about the command line alone."""
    for option, words in _IN_A_FORM:
        text = text.replace(option, words)
    if not OF_THE_COMMAND_LINE.search(text):
        return text
    clauses = (_COMMAND_AFTER.sub("", clause) for clause in text.split("; "))
    return "; ".join(one for one in clauses if one and not OF_THE_COMMAND_LINE.search(one))
