"""What the tool of the invented family hazel knows: sections, codes, limits, names in German.

A row is code;places;unit;access;least;most;as delivered;name. `rw` is set, `ro` is read only; a
flag has no places, and Nein and Ja for its limits. No drive of this kind exists.
"""

from __future__ import annotations

SECTIONS: dict[str, str] = {
    "Gerät": """\
ger.bestell;;;ro;;;HZL-2M;Bestellnummer
ger.serie;;;ro;;;;Seriennummer
ger.stand;;;ro;;;;Firmwarestand
ger.stunden;0;h;ro;;;0;Betriebsstunden""",
    "Motor und Geber": """\
mot.bestell;;;rw;;;;Motor-Bestellnummer
mot.strom;2;A;rw;0;40;2.00;Motornennstrom
mot.spitze;2;A;rw;0;120;6.00;Motorspitzenstrom
mot.moment;2;Nm;rw;0;60;2.40;Motornennmoment
mot.drehzahl;0;1/min;rw;0;9000;3000;Motornenndrehzahl
mot.mech;0;1/min;rw;0;12000;4500;Mechanische Höchstdrehzahl
mot.pole;0;;rw;1;30;4;Polpaarzahl
mot.masse;2;kg·cm²;rw;0;500;2.00;Motorträgheit
mot.kt;3;Nm/A;rw;0;20;1.200;Drehmomentkonstante
mot.warm;0;°C;rw;40;160;140;Motortemperaturgrenze
geb.striche;0;Ink;rw;1;16777216;1048576;Geberinkremente je Umdrehung""",
    "Getriebe": """\
gtr.motor;0;;rw;1;1000;1;Getriebe Motorseite
gtr.welle;0;;rw;1;1000;1;Getriebe Lastseite
gtr.vorschub;3;mm;rw;0.001;2000;10.000;Vorschub je Umdrehung""",
    "Grenzen": """\
grz.unten;3;mm;rw;-20000;20000;0.000;Unterer Softwareendschalter
grz.oben;3;mm;rw;-20000;20000;100.000;Oberer Softwareendschalter
grz.aktiv;;;rw;Nein;Ja;Nein;Softwareendschalter aktiv
grz.tempo;1;mm/s;rw;0;10000;100.0;Maximale Verfahrgeschwindigkeit
grz.dreh;0;1/min;rw;1;9000;4500;Maximale Motordrehzahl
grz.auf;0;mm/s²;rw;1;100000;2000;Maximale Beschleunigung
grz.ab;0;mm/s²;rw;1;100000;2000;Maximale Verzögerung
grz.moment;1;%;rw;0;400;300.0;Drehmomentgrenze
grz.plus;1;%;rw;0;400;300.0;Drehmomentgrenze positiv
grz.minus;1;%;rw;0;400;300.0;Drehmomentgrenze negativ""",
    "Überwachung": """\
ueb.schlepp;3;mm;rw;0.001;1000;1.000;Schleppfehlerfenster
ueb.spaet;0;ms;rw;0;1000;0;Ausschaltzeit bei Schleppfehler
ueb.warn;3;mm;rw;0.001;1000;0.800;Warnschwelle Schleppfehler
ueb.ziel;3;mm;rw;0.001;100;0.100;Positionsfenster
ueb.zielzeit;0;ms;rw;0;1000;10;Zeit im Positionsfenster
ueb.steht;1;mm/s;rw;0;1000;2.0;Stillstandsschwelle""",
    "Fahren": """\
fhr.tempo;1;mm/s;rw;0;10000;50.0;Positioniergeschwindigkeit
fhr.auf;0;mm/s²;rw;1;100000;500;Positionierbeschleunigung
fhr.ab;0;mm/s²;rw;1;100000;500;Positionierverzögerung
fhr.ruck;0;mm/s³;rw;1;10000000;20000;Ruckbegrenzung
fhr.tipp;1;mm/s;rw;0;250;20.0;Tippgeschwindigkeit""",
    "Anhalten": """\
anh.rampe;0;mm/s²;rw;1;100000;1500;Schnellhaltverzögerung
anh.schnell;0;;rw;0;7;2;Verhalten bei Schnellhalt
anh.fehler;0;;rw;0;4;2;Fehlerreaktion
anh.bus;0;;rw;0;3;3;Reaktion auf Busausfall""",
    "Referenzfahrt": """\
ref.art;0;;rw;-4;37;35;Referenzfahrtmethode
ref.versatz;3;mm;rw;-20000;20000;0.000;Referenzpunktverschiebung
ref.such;1;mm/s;rw;0;500;20.0;Referenzfahrt Suchgeschwindigkeit
ref.null;1;mm/s;rw;0;500;5.0;Schleichgeschwindigkeit Referenzfahrt""",
    "Regler": """\
reg.lage;1;1/s;rw;0;500;20.0;Lageregler Verstärkung
reg.vor;1;%;rw;0;100;0.0;Geschwindigkeitsvorsteuerung
reg.n;3;N·m·s/rad;rw;0;20;0.100;Drehzahlregler Verstärkung
reg.tn;1;ms;rw;0;1000;20.0;Nachstellzeit Drehzahlregler
reg.filter;2;ms;rw;0;20;0.20;Filterzeit Moment
reg.kerb;0;Hz;rw;0;2000;0;Frequenz Kerbfilter
reg.gewicht;1;%;rw;-100;100;0.0;Gewichtsausgleich""",
    "Bremse": """\
bre.da;;;rw;Nein;Ja;Nein;Haltebremse vorhanden
bre.auf;0;ms;rw;0;1000;30;Öffnungszeit Bremse
bre.zu;0;ms;rw;0;1000;20;Schließzeit Bremse""",
    "Netz": """\
ntz.phasen;0;;rw;1;3;3;Netzphasen
ntz.hoch;0;V;rw;100;900;820;Überspannungsschwelle
ntz.tief;0;V;rw;50;700;380;Unterspannungsschwelle
ntz.wid;;;rw;Nein;Ja;Nein;Bremswiderstand aktiv
ntz.ohm;1;Ohm;rw;0;1000;100.0;Widerstandswert Bremswiderstand""",
    "Bus": """\
bus.adr;0;;rw;1;127;1;Knotenadresse
bus.takt;2;ms;rw;0.25;20;2.00;Buszykluszeit
bus.leer;0;;rw;0;20;3;Zulässige Telegrammausfälle""",
    "Sicherheit": """\
sic.tempo;1;mm/s;ro;;;250.0;Sicher begrenzte Geschwindigkeit
sic.summe;0;;ro;;;0;Prüfsumme der Sicherheitsparameter""",
    "Anwendung": """\
anw.lagen;0;;rw;1;12;5;Lagen je Palette
anw.sauger;1;%;rw;0;100;60.0;Unterdruck der Sauger
anw.pumpe;1;A;rw;0;10;2.5;Stromgrenze Vakuumpumpe
anw.dauer;0;ms;rw;0;5000;400;Überwachungszeit Sauger
anw.neu;;;rw;Nein;Ja;Nein;Wiederanlauf nach Störung Sauger
anw.senken;1;mm/s;rw;0;500;60.0;Geschwindigkeit beim Absetzen
anw.sprache;;;rw;;;Deutsch;Sprache der Anzeige""",
    "Istwerte": """\
ist.lage;3;mm;ro;;;0.000;Istposition
ist.moment;1;%;ro;;;0.0;Momentenistwert
ist.kreis;1;V;ro;;;0.0;Zwischenkreisspannung
ist.warm;0;°C;ro;;;0;Kühlkörpertemperatur
ist.fehler;0;;ro;;;0;Fehlercode""",
}
