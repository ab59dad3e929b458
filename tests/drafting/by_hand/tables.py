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
    text("cells with delimiters and line breaks", 'Code,Name,Value,Unit\n'
         'P1,"Lag limit, far",2.5,mm\n'
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
    text("a minus sign of print", "Code;Name;Value;Unit\n"
         "P1;Lag limit;2.5;mm\nP2;Offset;\u22121200;mm\n"
         "P3;Gain;0.75;\n", {"P1": ("2.5", "mm"), "P2": ("-1200", "mm"), "P3": ("0.75", None)}),
    text("an hour that is no number", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\n"
         "P2;Service at;12:30;\nP3;Version;2.1.7;\n",
         {"P1": ("2.5", "mm"), "P2": ("12:30", None), "P3": ("2.1.7", None)}),
    text("bars between cells", "| Code | Name | Value | Unit |\n| P1 | Lag limit | 2.5 | mm |\n"
         "| P2 | Top speed | 1200 | rpm |\n| P3 | Gain | 0.75 |  |\n", _FEW),
    text("two values of a parameter", "Code;Name;Setting;Factory setting;Unit\n"
         "P1;Lag limit;2.5;5;mm\n"
         "P2;Top speed;1200;3000;rpm\nP3;Gain;0.75;1;\n", _FEW),
    text("a total below the table", "Code;Name;Value;Unit\n" + _ROWS + ";;;\nTotal;3;;\n", _FEW,
         refused=("Total",)),
    text("noughts that make a number no thousands", "Nr.;Bezeichnung;Wert;Einheit\n"
         "P1;Weg;0.500;mm\nP2;Weg 2;30;mm\nP3;Weg 3;1.250;mm\n",
         {"P1": ("0.5", "mm"), "P2": ("30", "mm"), "P3": ("1.25", "mm")}),
    text("units with a factor", "Code;Name;Value;Unit\nP1;Lag limit;25;0.1 mm\nP2;Delay;7;10 ms\n"
         "P3;Gain;3;\n", {"P1": ("25", "0.1 mm"), "P2": ("7", "10 ms"), "P3": ("3", None)}),
    text("values in two bases", "Code;Name;Value (hex);Value (dec)\nP1;Options;1F4;500\n"
         "P2;Word;100;256\nP3;Gain;7;7\n",
         {"P1": ("500", None), "P2": ("256", None), "P3": ("7", None)}),
    text("sub-indices in a column of their own", "Index;Subindex;Name;Value;Unit\n"
         "6099;1;Homing speed;10;mm/s\n6099;2;Homing speed at the mark;5;mm/s\n6065;0;Lag;3;mm\n",
         {"6099/1": ("10", "mm/s"), "6099/2": ("5", "mm/s"), "6065/0": ("3", "mm")}),
    text("cells in single quotes", "'Code';'Name';'Value';'Unit'\n'P1';'Lag; far';'2,5';'mm'\n"
         "'P2';'Top speed';'1200';'rpm'\n'P3';'Gain';'0,75';''\n", _FEW),
    text("an inch sign in a text", 'Code;Name;Value;Unit\nP1;3/4" pipe;2.5;mm\n'
         'P2;"Top" speed;1200;rpm\nP3;Gain;0.75;\n', _FEW),
    text("an address with points", "Code;Name;Value;Unit\nP1;Lag limit;2,5;mm\n"
         "P2;Address;192.168.100.200;\nP3;Way;1.500,25;mm\n",
         {"P1": ("2.5", "mm"), "P2": ("192.168.100.200", None), "P3": ("1500.25", "mm")}),
    text("Cyrillic letters", "Code;Name;Value;Unit\nP1;Ошибка;2,5;mm\nP2;Скорость;1200;rpm\n"
         "P3;Усиление;0,75;\n", _FEW, encoding="windows-1251"),
    text("Japanese letters", "Code;Name;Value;Unit\nP1;位置偏差許容;2.5;mm\n"
         "P2;最大回転速度;1200;rpm\nP3;比例ゲイン;0.75;\n", _FEW, encoding="shift_jis"),
    text("one unit in the heading", "Code;Name;Value [mm]\nP1;Lag limit;2.5\nP2;Way;12.25\n"
         "P3;Window;0.75\n",
         {"P1": ("2.5", "mm"), "P2": ("12.25", "mm"), "P3": ("0.75", "mm")}),
    text("units behind the names", "Code;Name;Value\nP1;Lag limit [mm];2.5\n"
         "P2;Top speed [rpm];1200\nP3;Gain;0.75\n", _FEW),
    text("a version that is no number", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\n"
         "P2;Firmware version;2.10;\nP3;Gain;0.75;\n",
         {"P1": ("2.5", "mm"), "P2": ("2.10", None), "P3": ("0.75", None)}),
    text("rows with more cells than headings", "Code;Name;Value;Unit\nP1;Lag limit;2.5;mm;;\n"
         "P2;Top speed;1200;rpm;odd\nP3;Gain;0.75;;\n",
         {"P1": ("2.5", "mm"), "P3": ("0.75", None)}, refused=("P2",)),
)  # fmt: skip
