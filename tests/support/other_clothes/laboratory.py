"""Laboratory, chromatograph, tasting and calibrations in other clothes."""

from pathlib import Path

from other_clothes import units
from other_clothes.tables import (
    Column,
    as_text,
    clock,
    dealt,
    midnight,
    read_csv,
    read_sheets,
    rewritten,
    write_csv,
    write_workbook,
)

STRENGTH_MAP = """
describes = "Stärken des Labors in US Proof, Weltzeit"
files = ["Stärken_*.xlsx"]
[read]
format = "xlsx"
header_line = 2
[[records]]
kind = "laboratory"
sheet = "Werte"
header = ["Probe", "Los", "US Proof"]
constants = { instrument = "DM-2" }
[records.columns]
sample = "Probe"
lot = "Los"
measured_at = { column = "Weltzeit", time = "excel", zone = "UTC" }
temperature_c = { column = "Temp. K", unit = "K" }
replicate = "Messung"
analyst = "Prüfer"
preparation = { column = "Verfahren", lookup = { "unmittelbar" = "direct", "nach Destillation" = "distilled" } }
[records.columns.method]
column = "Verfahren"
[records.columns.method.lookup]
"unmittelbar" = "density meter"
"nach Destillation" = "density meter after distillation"
[records.wide]
strength = { column = "US Proof", unit = "us_proof" }
"""

CONGENERS_MAP = """
describes = "Begleitstoffe in mg je Liter reinen Alkohols"
files = ["Begleitstoffe_*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
thousands = "'"
[[records]]
kind = "laboratory"
header = ["Furfural", "Methanol", "Probe"]
constants = { method = "gas chromatography", instrument = "GC-1", replicate = 1 }
[records.columns]
sample = "Probe"
lot = "Los"
measured_at = { column = "Eingespritzt", time = "%d.%m.%Y, %H:%M", zone = "Asia/Kolkata" }
analyst = "Prüfer"
[records.wide]
methanol = { column = "Methanol", unit = "mg/L pa" }
acetaldehyde = { column = "Acetaldehyd", unit = "mg/L pa" }
ethyl_acetate = { column = "Ethylacetat", unit = "mg/L pa" }
propanol = { column = "Propanol-1", unit = "mg/L pa" }
isobutanol = { column = "Isobutanol", unit = "mg/L pa" }
isoamyl_alcohol = { column = "Isoamylalkohol", unit = "mg/L pa" }
furfural = { column = "Furfural", unit = "mg/L pa" }
"""

GRAVITIES_MAP = """
describes = "Dichteverhältnisse von Würzen und Maischen, Weltzeit"
files = ["Spindeln_*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "laboratory"
header = ["Probe", "Los", "SG"]
[records.constants]
analyte = "specific_gravity"
unit = "sg"
method = "hydrometer 20/20"
instrument = "SG-1"
replicate = 1
[records.columns]
sample = "Probe"
lot = "Los"
value = "SG"
measured_at = { column = "Weltzeit", time = "epoch_s" }
analyst = "Zeichen"
"""

RESIDUE_MAP = """
describes = "Trockenextrakt in g je 100 mL"
files = ["Extrakte*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "laboratory"
header = ["Probe", "Los", "Größe", "Zahl", "Einheit"]
constants = { replicate = 1, method = "evaporation and drying" }
[records.columns]
sample = "Probe"
lot = "Los"
analyte = { column = "Größe", lookup = { Trockenextrakt = "dry_extract" } }
value = "Zahl"
unit = "Einheit"
measured_at = { column = "Wann", time = "%d.%m.%Y %H:%M", zone = "America/Sao_Paulo" }
analyst = "Prüfer"
"""

PANEL_MAP = """
describes = "Verkostungen"
files = ["Verkostung.csv"]
[read]
format = "csv"
separator = ";"
[[records]]
kind = "panel"
header = ["richtig", "von"]
[records.columns]
session = "Sitzung"
lot = "Los"
reference_lot = "Vergleich"
held_at = { column = "Weltzeit", time = "%Y-%m-%dT%H:%MZ", zone = "UTC" }
test = { column = "Prüfung", lookup = { Dreieck = "triangle" } }
assessors = "von"
correct_answers = "richtig"
"""

CALIBRATIONS_MAP = """
describes = "Prüfungen der Messgeräte"
files = ["Prüfmittel.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "calibrations"
header = ["Gerät", "Soll", "Ist", "Einheit"]
[records.columns]
instrument = "Gerät"
checked_at = { column = "geprüft", time = "%Y-%m-%d %H:%M", zone = "UTC" }
reference_value = "Soll"
reading = "Ist"
unit = "Einheit"
due_at = { column = "nächste", time = "%Y-%m-%d %H:%M", zone = "UTC" }
"""

_CALIBRATED = {
    "pct_vol": ("us_proof", units.proof), "kg/m3": ("g/cm3", units.grams_a_cm3), "kg": ("lb", units.pounds),
    "degC": ("degF", units.fahrenheit), "g/hL pa": ("mg/L pa", units.by(10.0)),
}  # fmt: skip


def write_strengths(source: Path, target: Path) -> None:
    """% vol in text files of code page 1252 become US proof in workbooks."""
    columns = [
        Column("Weltzeit", "Datum/Zeit", clock("%d.%m.%Y %H:%M", "UTC", None)),
        Column("US Proof", "Alkohol [%vol]", lambda cell: units.figure(units.proof)(as_text(cell).replace(",", "."))),
        Column("Temp. K", "Temperatur [°C]", lambda cell: units.figure(units.kelvin)(as_text(cell).replace(",", "."))),
        Column("Los", "Charge"),
        Column("Probe", "Probe"),
        Column("Messung", "Messung", int),
        Column("Verfahren", "Methode", lambda cell: {"direkt": "unmittelbar"}.get(str(cell), "nach Destillation")),
        Column("Prüfer", "Bediener"),
    ]
    rows = rewritten(read_csv(sorted(source.glob("20*/densitometer_*.csv")), "cp1252", ";"), columns)
    for number, part in enumerate(dealt(rows, 3, order=8), start=1):
        write_workbook(target / f"Stärken_{number}.xlsx", {"Werte": (columns, part)}, "Stärken (erfunden)")


def write_congeners(source: Path, target: Path) -> None:
    """Workbooks in g/hL of pure alcohol become text files in mg/L of it; "<0.05" becomes "<0,50"."""
    tell = units.number(units.by(10.0), ",", "'")
    columns = [
        Column("Furfural", "Furfural", tell),
        Column("Isoamylalkohol", "Isoamyl alcohol", tell),
        Column("Isobutanol", "Isobutanol", tell),
        Column("Propanol-1", "1-Propanol", tell),
        Column("Ethylacetat", "Ethyl acetate", tell),
        Column("Acetaldehyd", "Acetaldehyde", tell),
        Column("Methanol", "Methanol", tell),
        Column("Eingespritzt", "Injected", clock("", "Asia/Kolkata", "%d.%m.%Y, %H:%M")),
        Column("Prüfer", "Analyst", as_text),
        Column("Probe", "Sample"),
        Column("Los", "Lot"),
    ]
    rows = rewritten(read_sheets(sorted(source.glob("20*/gc_*.xlsx")), "Results"), columns)
    for number, part in enumerate(dealt(rows, 2, order=9), start=1):
        write_csv(target / f"Begleitstoffe_{number}.csv", columns, part)


def write_gravities(source: Path, target: Path) -> None:
    """A wide file becomes a long one, seconds since 1970."""
    columns = [
        Column("Los", "lot"),
        Column("SG", "sg 20/20", units.number(units.same)),
        Column("Probe", "sample"),
        Column("Zeichen", "initials"),
        Column("Weltzeit", "measured", clock("%Y-%m-%d %H:%M", None, None)),
    ]
    rows = rewritten(read_csv(sorted(source.glob("20*/gravities_*.csv"))), columns)
    for number, part in enumerate(dealt(rows, 4, order=10), start=1):
        write_csv(target / f"Spindeln_{number}.csv", columns, part)


def write_residues(source: Path, target: Path) -> None:
    """g/L become g/100 mL, by a column of the unit."""
    columns = [
        Column("Probe", "sample"),
        Column("Los", "lot"),
        Column("Größe", "sample", lambda cell: "Trockenextrakt"),
        Column("Zahl", "dry extract g/L", units.number(units.by(0.1))),
        Column("Einheit", "sample", lambda cell: "g/100 mL"),
        Column("Wann", "measured", clock("%Y-%m-%d %H:%M", "America/Sao_Paulo", "%d.%m.%Y %H:%M")),
        Column("Prüfer", "analyst"),
    ]
    (rows,) = dealt(rewritten(read_csv(sorted(source.glob("20*/residue_*.csv"))), columns), 1, order=11)
    write_csv(target / "Extrakte.csv", columns, rows)


def write_panels(source: Path, target: Path) -> None:
    """Thirteen months in one file."""
    columns = [
        Column("richtig", "correct"),
        Column("von", "assessors"),
        Column("Prüfung", "test", lambda cell: {"triangle": "Dreieck"}[str(cell)]),
        Column("Weltzeit", "held", clock("%Y-%m-%d %H:%M", "UTC", "%Y-%m-%dT%H:%MZ")),
        Column("Vergleich", "reference"),
        Column("Los", "lot"),
        Column("Sitzung", "session"),
    ]
    (rows,) = dealt(rewritten(read_csv(sorted(source.glob("20*/panel_*.csv"))), columns), 1, order=12)
    write_csv(target / "Verkostung.csv", columns, rows)


def write_calibrations(source: Path, target: Path) -> None:
    """Every unit is another one: proof, g/cm3, lb, °F, mg/L of pure alcohol."""
    columns = [
        Column("Gerät", "instrument"),
        Column("Einheit", "unit", lambda cell: _CALIBRATED[str(cell)][0]),
        Column("Soll", "reference told"),
        Column("Ist", "reading told"),
        Column("geprüft", "checked", clock("%Y-%m-%d %H:%M", "UTC", "%Y-%m-%d %H:%M")),
        Column("nächste", "next due", midnight("%Y-%m-%d")),
    ]
    rows = read_csv(sorted(source.glob("20*/calibrations_*.csv")))
    for row in rows:
        tell = units.number(_CALIBRATED[str(row["unit"])][1])
        row |= {"reference told": tell(row["reference"]), "reading told": tell(row["reading"])}
    (cells,) = dealt(rewritten(rows, columns), 1, order=13)
    write_csv(target / "Prüfmittel.csv", columns, cells)
