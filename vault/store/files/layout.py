"""Where things lie in the vault's git tree."""

from __future__ import annotations

from vault.model.names import Address

VAULT = "vault.yaml"
SIGNERS = "allowed_signers"
FAMILIES = "families"
MACHINES = "machines"
TRIALS = "trials"
TRACES = "traces"
CONTROLLER = "controller"
"""Folder of an axis that holds the set of its controller's side."""
CONTROLLER_FORMAT = 4
"""Number of the vault's format that has such folders first: older programs know one set."""


def family_file(name: str) -> str:
    """Dictionary of a family."""
    return f"{FAMILIES}/{name}.yaml"


def axis_folder(address: Address) -> str:
    """Everything about an axis, whichever of its sides is meant."""
    return f"{MACHINES}/{address.machine}/{address.axis}"


def folder(address: Address) -> str:
    """Where the set of one side lies: the drive's in the folder of the axis itself."""
    of_axis = axis_folder(address)
    return f"{of_axis}/{CONTROLLER}" if address.is_controller else of_axis


def place_of(path: str) -> tuple[Address, str] | None:
    """Whose file a path of the tree is, and what of it; None for what belongs to no axis."""
    parts = path.split("/", 4)
    if len(parts) < 4 or parts[0] != MACHINES:
        return None
    if len(parts) == 5 and parts[3] == CONTROLLER:
        return Address(parts[1], parts[2], "controller"), parts[4]
    return Address(parts[1], parts[2]), "/".join(parts[3:])


def axis_file(address: Address) -> str:
    """The axis as built."""
    return f"{axis_folder(address)}/axis.yaml"


def parameters_file(address: Address) -> str:
    """The normalised values."""
    return f"{folder(address)}/parameters.yaml"


def snapshot_file(address: Address) -> str:
    """The record of the latest snapshot."""
    return f"{folder(address)}/snapshot.yaml"


def golden_file(address: Address) -> str:
    """The golden baseline and its waivers."""
    return f"{folder(address)}/golden.yaml"


def export_folder(address: Address) -> str:
    """Folder that holds the one kept export."""
    return f"{folder(address)}/export"


def export_file(address: Address, name: str) -> str:
    """The export, byte for byte."""
    return f"{export_folder(address)}/{name}"


def restore_file(address: Address) -> str:
    """The restore plan that was made last."""
    return f"{axis_folder(address)}/restore.yaml"


def plan_folder(address: Address) -> str:
    """What was made with that plan, to be had again: plan.json, sheet.html, load-file."""
    return f"{axis_folder(address)}/restore"


def fault_file(address: Address) -> str:
    """The faults that the axis tripped with."""
    return f"{axis_folder(address)}/faults.yaml"


def corrections_file(address: Address) -> str:
    """What people added about the axis afterwards."""
    return f"{axis_folder(address)}/corrections.yaml"


def trials_folder(address: Address) -> str:
    """All trials of the axis."""
    return f"{folder(address.drive)}/{TRIALS}"


def trial_folder(address: Address, name: str) -> str:
    """A trial, named by when it was taken."""
    return f"{trials_folder(address)}/{name}"


def trial_file(address: Address, name: str) -> str:
    """The record of a trial."""
    return f"{trial_folder(address, name)}/trial.yaml"


def traces_folder(address: Address) -> str:
    """All traces of the axis."""
    return f"{trials_folder(address)}/{TRACES}"


def trace_folder(address: Address, name: str) -> str:
    """A trace, named by when it was taken: its record, and the recording as it came."""
    return f"{traces_folder(address)}/{name}"


def trace_file(address: Address, name: str) -> str:
    """The record of a trace."""
    return f"{trace_folder(address, name)}/trace.yaml"


def trial_of(path: str) -> tuple[Address, str] | None:
    """The axis and the name of the trial in whose folder a file lies; None for any other."""
    parts = path.split("/")
    if len(parts) < 6 or parts[0] != MACHINES or parts[3] != TRIALS or parts[4] == TRACES:
        return None
    return Address(parts[1], parts[2]), parts[4]


def trace_of(path: str) -> tuple[Address, str] | None:
    """The axis and the name of the trace in whose folder a file lies; None for any other."""
    parts = path.split("/")
    if len(parts) < 6 or parts[0] != MACHINES or parts[3:5] != [TRIALS, TRACES]:
        return None
    return Address(parts[1], parts[2]), parts[5]


def machine_file(machine: str) -> str:
    """The record of a machine: its title, its tags, its twin."""
    return f"{MACHINES}/{machine}/machine.yaml"


def machine_corrections_file(machine: str) -> str:
    """What people added about a machine afterwards: its names, and retirement."""
    return f"{MACHINES}/{machine}/corrections.yaml"
