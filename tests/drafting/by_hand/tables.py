"""Tables in text: delimited, and printed with their columns below each other."""

from __future__ import annotations

from tests.drafting.by_hand.handmade import HandMade, text

LONG = "Code;Name;Value;Unit\n" + "".join(
    f"P{n // 100}.{n % 100:02};Spare value {n};{n}.5;mm\n" for n in range(5000)
)
_FEW = {"P1": ("2.5", "mm"), "P2": ("1200", "r/min"), "P3": ("0.75", None)}
_ROWS = "P1;Lag limit;2.5;mm\nP2;Top speed;1200;rpm\nP3;Gain;0.75;\n"

TABLES: tuple[HandMade, ...] = (
    text("title lines above the table", "Invented drive list\nprinted for tests\n\n"
         "Code;Name;Value;Unit\n" + _ROWS, _FEW),
    text("a mark of UTF-8 at its begin", "\ufeffCode;Name;Value;Unit\n" + _ROWS, _FEW),
    text("UTF-16", "Code;Name;Value;Unit\n" + _ROWS, _FEW, encoding="utf-16"),
    text("Latin-1 with umlauts", "Nummer;Bezeichnung;Wert;Einheit\nP1;Höchster Strom;2,5;A\n"
         "P2;Übersetzung;3;\nP3;Größe;0,75;µm\n",
         {"P1": ("2.5", "A"), "P2": ("3", None), "P3": ("0.75", "um")}, encoding="latin-1"),
    text("comments", "# invented\nCode;Name;Value;Unit\nP1;Lag limit;2.5;mm\n# speeds\n"
         "P2;Top speed;1200;rpm\n# rest\nP3;Gain;0.75;\n", _FEW),
    text("hexadecimal and binary values", "Code;Name;Value\nP1;Options;0x1F4\nP2;Word;16#00FF\n"
         "P3;Bits;0b1011\nP4;Mask;1F4h\nP5;Inputs;2#1010_0001\n",
         {"P1": ("500", None), "P2": ("255", None), "P3": ("11", None), "P4": ("500", None),
          "P5": ("161", None)}),
    text("units in the cell of the value", "Code;Name;Value\nP1;Lag limit;2.5 mm\n"
         "P2;Top speed;1200 rpm\nP3;Gain;0.75\nP4;Load;80%\n",
         {**_FEW, "P4": ("80", "percent")}),
    text("thousands with a point", "Nr.;Bezeichnung;Wert;Einheit\nP1;Weg;1.234.567,5;mm\n"
         "P2;Drehzahl;3.000;rpm\nP3;Faktor;0,25;\n",
         {"P1": ("1234567.5", "mm"), "P2": ("3000", "r/min"), "P3": ("0.25", None)}),
    text("thousands with a comma", "Code\tName\tValue\tUnit\nP1\tWay\t1,234,567.5\tmm\n"
         "P2\tSpeed\t3,000\trpm\nP3\tGain\t0.25\t\n",
         {"P1": ("1234567.5", "mm"), "P2": ("3000", "r/min"), "P3": ("0.25", None)}),
    text("a number that may be either", "Code;Name;Value;Unit\nP1;Way;1,234;mm\nP2;Speed;30;rpm\n"
         "P3;Mode;2;\n", {}, asks="decimal"),
    text("codes that come again in sections", "Code;Name;Value;Unit\n[Motor]\n1;Current;2.5;A\n"
         "2;Speed;3000;rpm\n[Brake]\n1;Delay;20;ms\n2;Used;1;\n",
         {"Motor/1": ("2.5", "A"), "Motor/2": ("3000", "r/min"), "Brake/1": ("20", "ms"),
          "Brake/2": ("1", None)}),
    text("a column of sections", "Group;Code;Name;Value;Unit\nMotor;1;Current;2.5;A\n"
         "Motor;2;Speed;3000;rpm\nBrake;1;Delay;20;ms\nBrake;2;Used;1;\n",
         {"Motor/1": ("2.5", "A"), "Motor/2": ("3000", "r/min"), "Brake/1": ("20", "ms"),
          "Brake/2": ("1", None)}),
    text("axes under headings", "Code;Name;Value;Unit\nAxis 1\nP1;Lag limit;2.5;mm\n"
         "P2;Speed;10;mm/s\nAxis 2\nP1;Lag limit;3.5;mm\nP2;Speed;20;mm/s\n", {},
         axes={1: {"P1": ("2.5", "mm"), "P2": ("10", "mm/s")},
               2: {"P1": ("3.5", "mm"), "P2": ("20", "mm/s")}}),
    text("a column of axes", "Axis;Code;Name;Value;Unit\n1;P1;Lag limit;2.5;mm\n"
         "1;P2;Speed;10;mm/s\n2;P1;Lag limit;3.5;mm\n2;P2;Speed;20;mm/s\n", {},
         axes={1: {"P1": ("2.5", "mm"), "P2": ("10", "mm/s")},
               2: {"P1": ("3.5", "mm"), "P2": ("20", "mm/s")}}),
    HandMade("5,000 rows", LONG.encode(), {
        f"P{n // 100}.{n % 100:02}": (f"{n}.5", "mm") for n in range(5000)
    }, "long.csv"),
    text("units that nobody knows", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\n"
         "P2;Index;7;blorp\nP3;Gain;0.75;\n",
         {"P1": ("2.5", "mm"), "P2": ("7", "blorp"), "P3": ("0.75", None)}),
    text("empty values", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Top speed;;rpm\n"
         "P3;Gain;0.75;\n", {"P1": ("2.5", "mm"), "P3": ("0.75", None)}, refused=("P2",)),
    text("a line below the table", "Code;Name;Value;Unit\n" + _ROWS + "\nEnd of list\n", _FEW),
    text("cells with delimiters and line breaks", 'Code,Name,Value,Unit\nP1,"Lag limit, far",2.5,mm\n'
         'P2,"Top speed\nof the motor",1200,rpm\nP3,"Gain ""P""",0.75,\n', _FEW),
    text("columns in odd order", "Unit;Value;Max;Name;Min;Code\nmm;2.5;9;Lag limit;0;P1\n"
         "rpm;1200;6000;Top speed;0;P2\n;0.75;1;Gain;0;P3\n", _FEW),
    text("headings in capitals and short", "PAR. NO.;DESIGNATION;ACT. VALUE;UNITS\n" + _ROWS, _FEW),
    text("headings twice", "Code;Name;Value;Unit;Value;Unit\nP1;Lag limit;2.5;mm;3.5;mm\n"
         "P2;Top speed;1200;rpm;1300;rpm\nP3;Gain;0.75;;0.85;\n", _FEW),
    text("dates above the table", "Drive: Invented 7\nSerial number: 00417\nFirmware: 2.10\n"
         "Date: 14.03.2026 09:30\n\nCode;Name;Value;Unit\n" + _ROWS, _FEW,
         plate={"drive": "Invented 7", "serial": "00417", "firmware": "2.10",
                "taken_at": "2026-03-14T09:30:00"}),
    text("a serial number with noughts before it", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\n"
         "P2;Serial number;00417;\nP3;Gain;0.75;\n",
         {"P1": ("2.5", "mm"), "P2": ("00417", None), "P3": ("0.75", None)}),
    text("words for yes and no", "Nr;Bezeichnung;Wert;Einheit\nP1;Bremse vorhanden;Ja;\n"
         "P2;Endschalter invertiert;Nein;\nP3;Weg;2,5;mm\n",
         {"P1": ("Ja", None), "P2": ("Nein", None), "P3": ("2.5", "mm")}),
    text("a printed list", "Parameter list of an invented drive\n\n"
         "No.    Name              Value   Unit\n"
         "-------------------------------------\n"
         "P1     Lag limit           2.5   mm\n"
         "P2     Top speed          1200   rpm\n"
         "P3     Gain               0.75\n", _FEW),
    text("a minus sign of print", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Offset;\u22121200;mm\n"
         "P3;Gain;0.75;\n", {"P1": ("2.5", "mm"), "P2": ("-1200", "mm"), "P3": ("0.75", None)}),
    text("an hour that is no number", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\n"
         "P2;Service at;12:30;\nP3;Version;2.1.7;\n",
         {"P1": ("2.5", "mm"), "P2": ("12:30", None), "P3": ("2.1.7", None)}),
    text("bars between cells", "| Code | Name | Value | Unit |\n| P1 | Lag limit | 2.5 | mm |\n"
         "| P2 | Top speed | 1200 | rpm |\n| P3 | Gain | 0.75 |  |\n", _FEW),
    text("two values of a parameter", "Code;Name;Setting;Factory setting;Unit\nP1;Lag limit;2.5;5;mm\n"
         "P2;Top speed;1200;3000;rpm\nP3;Gain;0.75;1;\n", _FEW),
    text("a total below the table", "Code;Name;Value;Unit\n" + _ROWS + ";;;\nTotal;3;;\n", _FEW,
         refused=("Total",)),
    text("rows with more cells than headings", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm;;\n"
         "P2;Top speed;1200;rpm;odd\nP3;Gain;0.75;;\n",
         {"P1": ("2.5", "mm"), "P3": ("0.75", None)}, refused=("P2",)),
)  # fmt: skip
