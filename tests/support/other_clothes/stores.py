"""Goods received, botanicals weighed, tanks dipped and bottles filled, in other clothes."""

from pathlib import Path

from other_clothes import units
from other_clothes.tables import (
    Column,
    as_text,
    clock,
    dealt,
    midnight,
    read_csv,
    rewritten,
    words,
    write_csv,
    write_workbook,
)
from other_clothes.words import CONDITIONS, KINDS, MATERIALS, lookup_back

INTAKE_MAP = f"""
describes = "Wareneingang in Pfund und Gallonen"
files = ["Wareneingang_*.csv"]
[read]
format = "csv"
encoding = "cp1252"
separator = ";"
decimal = ","
thousands = "."
[[records]]
kind = "intake"
header = ["Ware", "Los", "Art"]
[records.columns]
lot = "Los"
material = "Ware"
kind = {{ column = "Art", lookup = {lookup_back(KINDS)} }}
supplier = "Lieferant"
received_at = {{ column = "Eingang", time = "%Y-%m-%d %H:%M", zone = "America/New_York" }}
quantity_kg = {{ column = "Pfund", unit = "lb" }}
quantity_l = {{ column = "Gallonen", unit = "US gal" }}
quantity_pieces = "Stück"
extract_pct = "Extrakt % TS"
moisture_pct = "Feuchte %"
condition = {{ column = "Zustand", lookup = {lookup_back(CONDITIONS)} }}
best_before = {{ column = "Haltbar bis", time = "%Y-%m-%d %H:%M", zone = "UTC" }}
"""

BALANCE_MAP = """
describes = "Gewürzwaage in Pfund; die Summe am Fuß wird übergangen"
files = ["Gewürzwaage_*.csv"]
[read]
format = "csv"
separator = "\\t"
decimal = ","
[[records]]
kind = "movements"
header = ["Pfund", "Los", "Lauf"]
where = { column = "Lauf", matches = "^BOT-" }
constants = { direction = "in", part = "botanical", instrument = "BAL-1" }
[records.columns]
run = "Lauf"
lot = "Los"
gauged_at = { column = "Gewogen", time = "%d.%m.%Y %H:%M", zone = "Asia/Tokyo" }
mass_kg = { column = "Pfund", unit = "lb" }
"""

FILLS_MAP = """
describes = "Füllmengen bei 20 °C in Gallonen"
files = ["Füllmengen_*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "fills"
header = ["Los", "Flasche", "Gallonen"]
constants = { instrument = "BAL-1" }
[records.columns]
lot = "Los"
sample_no = "Flasche"
measured_at = { column = "Tag", time = "%Y-%m-%d %H:%M", zone = "UTC" }
net_content_ml = { column = "Gallonen", unit = "US gal" }
"""

STOCK_MAP = """
describes = "Peilungen am Monatsende, Ortszeit von New York"
files = ["Peilungen.xlsx"]
[read]
format = "xlsx"
header_line = 2
[[records]]
kind = "stock"
sheet = "Peilungen"
header = ["Tank", "Los", "Gallonen"]
[records.columns]
vessel = "Tank"
lot = "Los"
gauged_at = { column = "gepeilt", time = "excel", zone = "America/New_York" }
volume_at_t_l = { column = "Gallonen", unit = "US gal" }
volume_temperature_c = { column = "Tank F", unit = "degF" }
strength_reading = "Stärke"
reading_kind = { column = "abgelesen als", lookup = { Spindel = "alcoholmeter", Proof = "us_proof_60f" } }
preparation = { column = "abgelesen als", lookup = { Spindel = "direct", Proof = "distilled" } }
reading_temperature_c = { column = "Spindel F", unit = "degF" }
instrument = "Gerät"
"""


def write_intake(source: Path, target: Path) -> None:
    """Thirteen months in three files, pounds and gallons."""
    columns = [
        Column("Ware", "Material", words(MATERIALS)),
        Column("Los", "Lot"),
        Column("Art", "Kind", words(KINDS)),
        Column("Lieferant", "Supplier"),
        Column("Haltbar bis", "Best before", midnight("%Y-%m-%d")),
        Column("Eingang", "Received", clock("%Y-%m-%d %H:%M", "America/New_York", "%Y-%m-%d %H:%M")),
        Column("Pfund", "Qty kg", units.number(units.pounds, ",", ".")),
        Column("Gallonen", "Qty L", units.number(units.gallons, ",", ".")),
        Column("Stück", "Qty pcs", units.number(units.same, ",", ".", digits=0)),
        Column("Extrakt % TS", "Extract % dm", units.number(units.same, ",", ".", digits=2)),
        Column("Feuchte %", "Moisture %", units.number(units.same, ",", ".", digits=2)),
        Column("Zustand", "Condition", words(CONDITIONS)),
    ]
    rows = rewritten(read_csv(sorted(source.glob("20*/intake_*.csv"))), columns)
    for number, part in enumerate(dealt(rows, 3, order=14), start=1):
        write_csv(target / f"Wareneingang_{number}.csv", columns, part, ";", "cp1252")


def write_balance(source: Path, target: Path) -> None:
    """Grams become pounds; the totals stand anywhere among the rows."""
    columns = [
        Column("Lauf", "Run", as_text),
        Column("Los", "Lot", as_text),
        Column("Pfund", "Net g", units.number(units.pounds_of_grams)),
        Column("Gewogen", "time told", as_text),
    ]
    rows = read_csv(sorted(source.glob("20*/balance_*.csv")))
    at = clock("%d.%m.%Y %H:%M", "Asia/Tokyo", "%d.%m.%Y %H:%M")
    for row in rows:
        row["time told"] = "SUMME" if row["Weighed"] == "TOTAL" else at(row["Weighed"])
    for number, part in enumerate(dealt(rewritten(rows, columns), 3, order=15), start=1):
        write_csv(target / f"Gewürzwaage_{number}.csv", columns, part, "\t")


def write_fills(source: Path, target: Path) -> None:
    """Millilitres become gallons, bottles of all batches mixed."""
    columns = [
        Column("Gallonen", "net mL at 20 C", units.number(units.gallons_of_ml, digits=11)),
        Column("Flasche", "bottle"),
        Column("Los", "batch"),
        Column("Tag", "date", midnight("%Y-%m-%d")),
    ]
    rows = rewritten(read_csv(sorted(source.glob("20*/fills_*.csv"))), columns)
    for number, part in enumerate(dealt(rows, 4, order=16), start=1):
        write_csv(target / f"Füllmengen_{number}.csv", columns, part)


def write_stock(source: Path, target: Path) -> None:
    """Text files of thirteen months become one workbook."""
    read_as = {"hydrometer": ("Spindel", units.same), "lab % vol": ("Proof", units.proof)}
    columns = [
        Column("gepeilt", "dipped", clock("%Y-%m-%d %H:%M", "America/New_York", None)),
        Column("Tank", "tank"),
        Column("Los", "lot"),
        Column("Gallonen", "volume L", units.figure(units.gallons)),
        Column("Tank F", "volume C", units.figure(units.fahrenheit)),
        Column("Stärke", "strength told", units.figure(units.same)),
        Column("abgelesen als", "read as", lambda cell: read_as[str(cell)][0]),
        Column("Spindel F", "strength C", units.figure(units.fahrenheit)),
        Column("Gerät", "meter", as_text),
    ]
    rows = read_csv(sorted(source.glob("20*/stock_*.csv")))
    for row in rows:
        row["strength told"] = units.figure(read_as[str(row["read as"])][1])(row["strength"])
    (cells,) = dealt(rewritten(rows, columns), 1, order=17)
    write_workbook(target / "Peilungen.xlsx", {"Peilungen": (columns, cells)}, "Peilungen (erfunden)")
