"""Writes a controller's project of a glaze line as its tool would export it (IEC 61131-10).

Apart from our own reader. Names of elements from memory; programs, blocks and values are invented.
The lift is in structured text, the carriage in ladder, the belt in function blocks, the turntable
in a function block of the house that a program calls, the pump in structured text again. The
turntable's drive takes a set point each 2 ms, so its program runs in a task of its own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

NAMESPACE = "www.iec.ch/public/TC65SC65BWG7TF10"
_XSI = "http://www.w3.org/2001/XMLSchema-instance"

VALUES: Mapping[str, str] = {
    "interval": "T#1ms",
    "lift jog": "20.0", "lift zero": "118.4", "lift high": "560.0", "lift low": "40.0",
    "lift speed": "300.0", "lift ramp": "1_200.0", "lift home": "37", "lift stop": "2000.0",
    "carriage jog": "20.0", "carriage end": "725.0", "carriage speed": "250.0",
    "carriage ramp": "2500.0",
    "belt step": "410.0", "belt speed": "1100.0", "belt ramp": "4000.0", "belt jerk": "60000.0",
    "table step": "90.0", "table speed": "150.0", "table ramp": "600.0", "table jog": "10.0",
    "pump speed": "24.0",
}  # fmt: skip
"""What the programs hold at commissioning; ways in mm, deg and turns, times a second."""


@dataclass(frozen=True, slots=True)
class Release:
    """A state of a line's project: when it was exported, and its values where not as at first."""

    line: str
    written_at: str
    values: Mapping[str, str]

    def __getitem__(self, name: str) -> str:
        return self.values.get(name, VALUES[name])


def text(release: Release) -> bytes:
    """The whole project."""
    programs = "".join(
        (_lift(release), _carriage(release), _belt(release), _station(), _table(release),
         _pump(release))
    )  # fmt: skip
    axes = "".join(
        _variable(name, "AXIS_REF")
        for name in ("LiftAxis", "CarriageAxis", "BeltAxis", "TableAxis", "PumpAxis")
    )
    lines = f"""<?xml version="1.0" encoding="utf-8"?>
<Project xmlns="{NAMESPACE}" xmlns:xsi="{_XSI}" schemaVersion="1.0">
<FileHeader companyName="Glade Works (invented)" productName="Coppice" productVersion="4.2"/>
<ContentHeader name={quoteattr(release.line)} creationDateTime="2019-05-06T08:00:00"
 modificationDateTime={quoteattr(release.written_at)}/>
<Types>
<GlobalNamespace>
{programs}</GlobalNamespace>
</Types>
<Instances>
<Configuration name="Line">
<Resource name="Controller" resourceTypeName="Coppice_300">
<GlobalVars name="Axes">
{axes}</GlobalVars>
<Task name="Motion" interval={quoteattr(release["interval"])} priority="1"/>
<Task name="Stations" interval="T#2ms" priority="2"/>
<Task name="Sequence" interval="T#10ms" priority="10"/>
<Task name="Slow" interval="T#100ms" priority="20"/>
{_running("Lift", "Motion")}{_running("Carriage", "Motion")}{_running("Belt", "Motion")}\
{_running("Table", "Stations")}{_running("Pump", "Sequence")}</Resource>
</Configuration>
</Instances>
</Project>
"""
    return lines.encode("utf-8")


def _running(name: str, task: str) -> str:
    return f'<ProgramInstance name="{name}" typeName="{name}" associatedTaskName="{task}"/>\n'


def _variable(name: str, kind: str, initial: str = "") -> str:
    begins = f'<InitialValue><SimpleValue value="{initial}"/></InitialValue>' if initial else ""
    return f'<Variable name="{name}"><Type><TypeName>{kind}</TypeName></Type>{begins}</Variable>\n'


def _blocks(*blocks: tuple[str, str]) -> str:
    return "".join(_variable(name, kind) for name, kind in blocks)


def _program(name: str, variables: str, body: str, tag: str = "Program", inputs: str = "") -> str:
    return (
        f'<{tag} name="{name}">\n{inputs}<Vars accessSpecifier="private">\n{variables}</Vars>\n'
        f"<MainBody>\n{body}</MainBody>\n</{tag}>\n"
    )


def _st(lines: str) -> str:
    return f'<BodyContent xsi:type="ST">\n<ST>{escape(lines)}</ST>\n</BodyContent>\n'


def _lift(release: Release) -> str:
    variables = _blocks(
        ("Power", "MC_Power"), ("Home", "MC_Home"), ("JogHand", "MC_MoveVelocity"),
        ("EaseHand", "MC_Halt"), ("MoveUp", "MC_MoveAbsolute"), ("MoveDown", "MC_MoveAbsolute"),
        ("StopNow", "MC_Stop"),
    )  # fmt: skip
    variables += "".join(
        _variable(name, "LREAL", initial)
        for name, initial in (
            ("Ramp", release["lift ramp"]), ("PanelSpeed", "120.0"), ("Asked", ""),
        )
    )  # fmt: skip
    return _program(
        "Lift",
        variables,
        _st(f"""
(* The tray hangs on the screw: down is never faster than up, and by hand it goes up alone. *)
Power(Axis := LiftAxis, Enable := Release);
Home(Axis := LiftAxis, Execute := HomeAsked, Position := {release["lift zero"]},
     HomingMethod := {release["lift home"]});
JogHand(Axis := LiftAxis, Execute := HandUp,
        Velocity := {release["lift jog"]}, Acceleration := 200.0, Deceleration := 200.0);
EaseHand(Axis := LiftAxis, Execute := NOT HandUp);
MoveUp(Axis := LiftAxis, Execute := Up, Position := {release["lift high"]},
       Velocity := {release["lift speed"]}, Acceleration := Ramp, Deceleration := Ramp,
       BufferMode := MC_BUFFER_MODE#mcAborting);
PanelSpeed := Panel.LiftSpeed; // typed on the panel
MoveDown(Axis := LiftAxis, Execute := Down, Position := {release["lift low"]},
         Velocity := PanelSpeed, Acceleration := Ramp, Deceleration := Ramp);
StopNow.Deceleration := {release["lift stop"]};
StopNow(Axis := LiftAxis, Execute := NOT Release);
"""),
    )


def _carriage(release: Release) -> str:
    variables = _blocks(
        ("JogHand", "MC_MoveVelocity"), ("EaseHand", "MC_Halt"), ("Sweep", "MC_MoveAbsolute")
    )
    variables += _variable("Ramp", "LREAL", release["carriage ramp"])
    first = _Picture("LD")
    first.block("MC_MoveVelocity", "JogHand", {
        "Axis": "CarriageAxis", "Velocity": release["carriage jog"], "Acceleration": "400.0",
        "Deceleration": "400.0",
    }, "Execute", "HandRight")  # fmt: skip
    ease = _Picture("LD", first.number)
    ease.block("MC_Halt", "EaseHand", {"Axis": "CarriageAxis"}, "Execute", "HandOff")
    second = _Picture("LD", ease.number)
    second.block("MC_MoveAbsolute", "Sweep", {
        "Axis": "CarriageAxis", "Position": release["carriage end"],
        "Velocity": release["carriage speed"], "Acceleration": "Ramp", "Deceleration": "Ramp",
        "Direction": "mcPositiveDirection",
    }, "Execute", "Start")  # fmt: skip
    rungs = "".join(
        f'<Rung evaluationOrder="{number}">\n{picture.objects}</Rung>\n'
        for number, picture in enumerate((first, ease, second), start=1)
    )
    return _program("Carriage", variables, f'<BodyContent xsi:type="LD">\n{rungs}</BodyContent>\n')


def _belt(release: Release) -> str:
    variables = _blocks(("Advance", "MC_MoveRelative"), ("Ease", "MC_Halt"))
    picture = _Picture("FBD")
    picture.block("MC_MoveRelative", "Advance", {
        "Axis": "BeltAxis", "Execute": "TileDue", "Distance": release["belt step"],
        "Velocity": release["belt speed"], "Acceleration": release["belt ramp"],
        "Deceleration": release["belt ramp"], "Jerk": release["belt jerk"],
    })  # fmt: skip
    picture.block("MC_Halt", "Ease", {
        "Axis": "BeltAxis", "Execute": "Full", "Deceleration": "2500.0", "Jerk": "25000.0",
    })  # fmt: skip
    body = (
        '<BodyContent xsi:type="FBD">\n<Network evaluationOrder="1">\n'
        f"{picture.objects}</Network>\n</BodyContent>\n"
    )
    return _program("Belt", variables, body)


def _station() -> str:
    """A function block of the house: one for any table that goes step by step."""
    inputs = (
        "<Parameters>\n<InputVars>\n"
        f"{_variable('Step', 'LREAL')}{_variable('Speed', 'LREAL')}{_variable('Ramp', 'LREAL')}"
        f"{_variable('JogSpeed', 'LREAL', '5.0')}</InputVars>\n<InOutVars>\n"
        f"{_variable('Station', 'AXIS_REF')}</InOutVars>\n</Parameters>\n"
    )
    variables = _blocks(
        ("Turn", "MC_MoveAdditive"), ("JogHand", "MC_MoveVelocity"), ("EaseHand", "MC_Halt")
    )
    body = _st("""
Turn(Axis := Station, Execute := Go, Distance := Step, Velocity := Speed,
     Acceleration := Ramp, Deceleration := Ramp, BufferMode := mcBuffered);
JogHand(Axis := Station, Execute := Hand, Velocity := JogSpeed);
EaseHand(Axis := Station, Execute := NOT Hand);
""")
    return _program("FB_Station", variables, body, "FunctionBlock", inputs)


def _table(release: Release) -> str:
    variables = _variable("Turntable", "FB_Station")
    return _program(
        "Table",
        variables,
        _st(f"""
Turntable(Station := TableAxis, Step := {release["table step"]}, Speed := {release["table speed"]},
          Ramp := {release["table ramp"]}, JogSpeed := {release["table jog"]});
"""),
    )


def _pump(release: Release) -> str:
    variables = _blocks(("Run", "MC_MoveVelocity"))
    variables += _variable("PumpSpeed", "LREAL", release["pump speed"])
    body = _st("""
Run(Axis := PumpAxis, Execute := Slurry, Velocity := PumpSpeed, Acceleration := 6.0,
    Deceleration := 4.0, Direction := MC_DIRECTION#mcPositiveDirection);
""")
    return _program("Pump", variables, body)


class _Picture:
    """Objects of a ladder or a function-block diagram, with their wires' numbers."""

    def __init__(self, kind: str, number: int = 0) -> None:
        self.kind, self.number, self.objects = kind, number, ""

    def _next(self) -> int:
        self.number += 1
        return self.number

    def block(
        self, kind: str, name: str, inputs: Mapping[str, str], powered: str = "", by: str = ""
    ) -> None:
        """A block with what is wired to it; in a ladder a contact powers one input."""
        wires = {}
        for key, source in inputs.items():
            wires[key] = self._next()
            self.objects += (
                f'<FbdObject xsi:type="DataSource" identifier={quoteattr(source)}>'
                f'<ConnectionPointOut connectionPointOutId="{wires[key]}"/></FbdObject>\n'
            )
        if powered:
            rail, wires[powered] = self._next(), self._next()
            self.objects += (
                '<LdObject xsi:type="LeftPowerRail">'
                f'<ConnectionPointOut connectionPointOutId="{rail}"/></LdObject>\n'
                f'<LdObject xsi:type="Contact" operand={quoteattr(by)}><ConnectionPointIn>'
                f'<Connection refConnectionPointOutId="{rail}"/></ConnectionPointIn>'
                f'<ConnectionPointOut connectionPointOutId="{wires[powered]}"/></LdObject>\n'
            )
        lines = "".join(
            f'<InputVariable parameterName="{key}"><ConnectionPointIn>'
            f'<Connection refConnectionPointOutId="{wire}"/></ConnectionPointIn></InputVariable>\n'
            for key, wire in wires.items()
        )
        out = self._next()
        self.objects += (
            f'<FbdObject xsi:type="Block" typeName="{kind}" instanceName="{name}">\n'
            f"<InputVariables>\n{lines}</InputVariables>\n<OutputVariables>\n"
            f'<OutputVariable parameterName="Done">'
            f'<ConnectionPointOut connectionPointOutId="{out}"/></OutputVariable>\n'
            "</OutputVariables>\n</FbdObject>\n"
        )
