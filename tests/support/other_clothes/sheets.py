"""The run sheets in other clothes: runs and bottling as text files, gauges as workbooks, all months mixed."""

from pathlib import Path

from other_clothes import units
from other_clothes.tables import Column, clock, dealt, read_sheets, rewritten, words, write_csv, write_workbook
from other_clothes.words import PARTS, RECIPES, STAGES, lookup_back

RUNS_MAP = f"""
describes = "Läufe aller Monate, Ortszeit von Chicago"
files = ["Läufe_*.csv"]
[read]
format = "csv"
separator = ";"
[[records]]
kind = "runs"
header = ["Ende", "Anfang", "Anlage", "Arbeitsgang"]
[records.columns]
run = "Lauf-Nr."
equipment = "Anlage"
product = "Erzeugnis"
recipe = "Vorschrift"
started_at = {{ column = "Anfang", time = "%d/%m/%Y %H:%M", zone = "America/Chicago" }}
ended_at = {{ column = "Ende", time = "%d/%m/%Y %H:%M", zone = "America/Chicago" }}
hearts_from = {{ column = "Mittellauf ab", time = "%d/%m/%Y %H:%M", zone = "America/Chicago" }}
hearts_to = {{ column = "Mittellauf bis", time = "%d/%m/%Y %H:%M", zone = "America/Chicago" }}
operator = {{ column = "Brenner", lookup = {{ aq = "AQ", br = "BR", cm = "CM" }} }}
stage = {{ column = "Arbeitsgang", lookup = {lookup_back(STAGES)} }}
"""

_GAUGE_COLUMNS = f"""
[records.columns]
run = "Lauf-Nr."
direction = {{ column = "Weg", lookup = {{ hinein = "in", heraus = "out" }} }}
lot = "Los"
part = {{ column = "Was", lookup = {lookup_back(PARTS)} }}
vessel = "Behälter"
gauged_at = {{ column = "Wann", time = "excel", zone = "Pacific/Auckland" }}
volume_at_t_l = {{ column = "Gallonen", unit = "US gal" }}
volume_temperature_c = {{ column = "Raumtemp. F", unit = "degF" }}
reading_temperature_c = {{ column = "Ablesetemp. F", unit = "degF" }}
mass_kg = {{ column = "Pfund", unit = "lb" }}
instrument = "Gerät"
"""

# One sheet, two sections: densities in g/cm3 are converted by their own, all other rows by the first.
GAUGES_MAP = f"""
describes = "Messungen: Weingallonen, Pfund, Grad Fahrenheit, US Proof und g/cm3, Ortszeit von Auckland"
files = ["Messungen_*.xlsx"]
[read]
format = "xlsx"
header_line = 2
[[records]]
kind = "movements"
sheet = "Messungen"
header = ["Los", "Lauf-Nr.", "Weg", "Was", "Stärke"]
where = {{ column = "Abgelesen als", not_matches = "^Dichte$" }}
{_GAUGE_COLUMNS}
strength_reading = "Stärke"
reading_kind = {{ column = "Abgelesen als", lookup = {{ Spindel = "alcoholmeter", "US Proof" = "us_proof_60f" }} }}
preparation = {{ column = "Abgelesen als", lookup = {{ Spindel = "direct", "US Proof" = "distilled" }} }}
[[records]]
kind = "movements"
sheet = "Messungen"
header = ["Los", "Lauf-Nr.", "Weg", "Was", "Stärke"]
where = {{ column = "Abgelesen als", matches = "^Dichte$" }}
constants = {{ reading_kind = "density", preparation = "direct" }}
{_GAUGE_COLUMNS}
strength_reading = {{ column = "Stärke", unit = "g/cm3" }}
"""

BOTTLING_MAP = """
describes = "Abfüllung"
files = ["Abfüllung_*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
thousands = "."
[[records]]
kind = "bottling"
header = ["Los", "Nenninhalt L"]
[records.columns]
lot = "Los"
run = "Lauf-Nr."
product = "Erzeugnis"
bottled_at = { column = "Wann", time = "%Y-%m-%d %H:%M", zone = "UTC" }
nominal_ml = { column = "Nenninhalt L", unit = "L" }
label_strength_pct_vol = { column = "Etikett % vol", unit = "pct_vol" }
bottles_filled = "Gefüllt"
bottles_rejected = "Ausschuss"
operator = "Brenner"
"""

_READ_AS = {"hydrometer": "Spindel", "kg/m3": "Dichte", "lab % vol": "US Proof"}
_READING = {"hydrometer": units.same, "kg/m3": units.grams_a_cm3, "lab % vol": units.proof}


def write_runs(source: Path, target: Path) -> None:
    """The sheets of thirteen months become five text files, each with rows of all months."""
    at = clock("", "America/Chicago", "%d/%m/%Y %H:%M")
    columns = [
        Column("Ende", "End", at),
        Column("Anfang", "Start", at),
        Column("Mittellauf bis", "Hearts to", at),
        Column("Mittellauf ab", "Hearts from", at),
        Column("Arbeitsgang", "Stage", words(STAGES)),
        Column("Vorschrift", "Recipe", words(RECIPES)),
        Column("Erzeugnis", "Product", words({})),
        Column("Anlage", "Equipment", words({})),
        Column("Brenner", "Op", words({})),
        Column("Lauf-Nr.", "Run", words({})),
    ]
    rows = rewritten(read_sheets(sorted(source.glob("20*/runs_*.xlsx")), "Runs"), columns)
    for number, part in enumerate(dealt(rows, 5, order=5), start=1):
        write_csv(target / f"Läufe_{number}.csv", columns, part)


def write_gauges(source: Path, target: Path) -> None:
    """The sheets of thirteen months become seven workbooks, each with rows of all months."""
    columns = [
        Column("Los", "Lot", words({})),
        Column("Wann", "Gauged", clock("", "Pacific/Auckland", None)),
        Column("Lauf-Nr.", "Run", words({})),
        Column("Weg", "In/Out", words({"in": "hinein", "out": "heraus"})),
        Column("Was", "Part", words(PARTS)),
        Column("Behälter", "Vessel", words({})),
        Column("Pfund", "Mass kg", units.figure(units.pounds)),
        Column("Gallonen", "Volume L", units.figure(units.gallons)),
        Column("Raumtemp. F", "Volume °C", units.figure(units.fahrenheit)),
        Column("Ablesetemp. F", "Strength °C", units.figure(units.fahrenheit)),
        Column("Abgelesen als", "Read as", words({key.lower(): word for key, word in _READ_AS.items()})),
        Column("Stärke", "Strength told", units.figure(units.same)),
        Column("Gerät", "Meter", words({})),
    ]
    rows = read_sheets(sorted(source.glob("20*/runs_*.xlsx")), "Gauges")
    for row in rows:
        row["Strength told"] = units.figure(_READING.get(str(row["Read as"]), units.same))(row["Strength"])
    for number, part in enumerate(dealt(rewritten(rows, columns), 7, order=6), start=1):
        write_workbook(target / f"Messungen_{number}.xlsx", {"Messungen": (columns, part)}, "Messungen (erfunden)")


def write_bottling(source: Path, target: Path) -> None:
    """The sheets of thirteen months become two text files."""
    count = units.number(units.same, ",", ".", digits=0)
    columns = [
        Column("Los", "Batch", words({})),
        Column("Lauf-Nr.", "Run", words({})),
        Column("Erzeugnis", "Product", words({})),
        Column("Nenninhalt L", "Nominal mL", units.number(units.by(1e-3), ",", ".", digits=3)),
        Column("Etikett % vol", "Label % vol", units.number(units.same, ",", ".", digits=1)),
        Column("Gefüllt", "Filled", count),
        Column("Ausschuss", "Rejected", count),
        Column("Wann", "Bottled", clock("", "UTC", "%Y-%m-%d %H:%M")),
        Column("Brenner", "Op", words({})),
    ]
    rows = rewritten(read_sheets(sorted(source.glob("20*/runs_*.xlsx")), "Bottling"), columns)
    for number, part in enumerate(dealt(rows, 2, order=7), start=1):
        write_csv(target / f"Abfüllung_{number}.csv", columns, part)
