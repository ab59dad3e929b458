"""What may be asked for in addresses and forms, for more than one of them."""

from __future__ import annotations

AXIS = "/axis/<machine_name>/<axis_name>"
STATE = "A state: machine/axis@WHEN."
RESTORE = "/restore/<machine_name>/<axis_name>"
LOG = {
    "kind": "Only entries of a kind: snapshot, restore, approval, waiver, record, trial, fault, "
    "alert or note; may be repeated.",
    "skip": "Pass over so many of the newest ones.",
}
ORDER = {"work_order": "The work order it belongs to.", "note": "What a reader should know."}
SIDE = {"side": "Whose set of the axis it is: drive (as usual), or controller."}
TAKEN = {
    "taken_at": "When it was taken: a time, now, or file for what the file proposes; else as it "
    "says itself, else now where nothing old speaks against that.",
    "node_id": "What values that refer to the node id are of.",
}
EVEN_SO = {"even_so": "Why, although a guard objects."}
FITTED = {
    "even_so": "Why a target that is not whole is restored all the same.",
    "override_reason": "An older name of even_so.",
    "when": "The state to restore; else the golden baseline, else the latest.",
    "drive": "Order code of the fitted drive.",
    "firmware": "Its firmware.",
    "encoder_bits": "Bits of one turn, and of turns: 24+12, 20.",
    "motor": "Order code of the fitted motor.",
    "rated_current": "Its rated current in A.",
    "rated_torque": "Its rated torque in N*m.",
    "onto": "The fitted drive is of another family.",
    "adapt": "Make all corrections for the fitted hardware.",
    "boxes": "Make those that are ticked instead: `offered` and `correct` name them.",
    "offered": "Code of a correction that was offered; may be repeated.",
    "correct": "Code of a correction that is made; may be repeated.",
}
LEFT = {
    "moved": "A short measured move: COMMANDED=MEASURED.",
    "partial": "Leave out what cannot be read, and record that.",
    "unticked": "To sign: although steps of the sheet are not ticked, and no reason is given.",
    "snapshot": "To sign: the as-left snapshot that was looked at; else the last.",
    **TAKEN,
    **ORDER,
    **EVEN_SO,
}
TICKS = {
    "tick": "A box of the sheet that is ticked, SECTION.PLACE; may be repeated.",
    "shown": "A box that was seen ticked, and is unticked where `tick` has it not.",
}
WHICH = {
    "act": "What to do to them: approve, waive, or interval.",
    "machine": "Axes of one machine.",
    "family": "Axes whose latest snapshot is of one family.",
    "stands": "Axes that are drifted, overdue, no_golden or in_line.",
    "pattern": "Axes that fit, as */lift.",
}
MANY = {
    "accept": "A finding of the check that is known and right; may be repeated.",
    "saw": "AXIS FINDING that was looked at; only those are accepted. May be repeated.",
    "even_so": "Why sets that are not whole are approved all the same.",
    "code": "The parameter to waive, by code or role.",
    "allow": "What it may be: a range with its unit, or any.",
    "until": "The last day of the waiver.",
    "every": "How often an export is due: 30 days.",
}
QUESTION = {
    "place": "A machine, or machine/axis.",
    "fault": "A fault code.",
    "at": "When it tripped, about: the nearest in the fault log counts.",
    "from": "Begin of the period; a bare date means its begin.",
    "to": "Its end; a bare date means its end.",
}
