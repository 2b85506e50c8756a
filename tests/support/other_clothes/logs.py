"""The logs of the four stills in other clothes: other clocks, units, separators, and files by another cut."""

from collections import defaultdict
from pathlib import Path

from other_clothes import units
from other_clothes.tables import Column, Row, as_text, clock, dealt, read_csv, rewritten, write_csv

S1_MAP = """
describes = "Rauhbrandblase 1: Tag und Uhrzeit getrennt, zwölf Stunden mit AM und PM, Bergzeit"
files = ["Rauhbrandblase1_*.txt"]
[read]
format = "csv"
encoding = "utf-16"
separator = "\\t"
decimal = ","
thousands = "."
header_line = 2
[[records]]
kind = "readings"
header = ["Tag", "Uhr", "Blase"]
[records.constants]
equipment = "S1"
[records.columns]
read_at = { column = "Tag", also = "Uhr", time = "%m/%d/%Y %I:%M:%S %p", zone = "America/Denver" }
[records.wide]
pot_temperature_c = { column = "Blase", unit = "degF" }
column_temperature_c = { column = "Kolonne", unit = "degF" }
vapour_temperature_c = { column = "Geist", unit = "K" }
pressure_kpa = { column = "Luftdruck", unit = "inHg" }
distillate_flow_l_h = { column = "Ablauf", unit = "US gal/h" }
parrot_strength_pct_vol = { column = "Vorlage", unit = "us_proof" }
parrot_temperature_c = { column = "Vorlage warm", unit = "degF" }
"""

S2_MAP = """
describes = "Rauhbrandblase 2: eine Zeile ein Wert, Sekunden seit 1970"
files = ["Rauhbrandblase2_*.csv"]
[read]
format = "csv"
separator = "|"
decimal = ","
[[records]]
kind = "readings"
header = ["Messstelle", "Wert", "Güte", "Sekunde"]
[records.where]
column = "Güte"
not_matches = "^unsicher$"
[records.constants]
equipment = "S2"
[records.columns]
read_at = { column = "Sekunde", time = "epoch_s" }
[records.columns.value]
column = "Wert"
[records.columns.value.units]
pot_temperature_c = "degF"
vapour_temperature_c = "degF"
parrot_temperature_c = "degF"
pressure_kpa = "inHg"
distillate_flow_l_h = "US gal/h"
parrot_strength_pct_vol = "us_proof"
[records.columns.tag]
column = "Messstelle"
[records.columns.tag.lookup]
Blase = "pot_temperature_c"
Geist = "vapour_temperature_c"
Luft = "pressure_kpa"
Ablauf = "distillate_flow_l_h"
Vorlage = "parrot_strength_pct_vol"
VorlageT = "parrot_temperature_c"
"""

R1_MAP = """
describes = "Rektifikation: eine Zeile ein Wert, Ortszeit von Tokio"
files = ["Rektifikation_*.csv"]
[read]
format = "csv"
encoding = "cp1252"
separator = ";"
decimal = ","
[[records]]
kind = "readings"
header = ["Größe", "Zeit", "Zahl"]
[records.constants]
equipment = "R1"
[records.columns]
read_at = { column = "Zeit", time = "%Y%m%d %H%M%S", zone = "Asia/Tokyo" }
[records.columns.value]
column = "Zahl"
[records.columns.value.units]
pot_temperature_c = "degF"
column_temperature_c = "degF"
vapour_temperature_c = "degF"
pressure_kpa = "inHg"
distillate_flow_l_h = "US gal/h"
[records.columns.tag]
column = "Größe"
[records.columns.tag.lookup]
"Wärme Blase" = "pot_temperature_c"
"Wärme Boden 30" = "column_temperature_c"
"Wärme oben" = "vapour_temperature_c"
"Druck oben" = "pressure_kpa"
"Ablauf" = "distillate_flow_l_h"
"Rücklauf" = "reflux_ratio"
"""

G1_MAP = """
describes = "Geistblase: eine Zeile eine Minute, Uhr in Kathmandu"
files = ["Geistblase_*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "readings"
header = ["Zeit", "Blase °C", "Geist °C"]
[records.constants]
equipment = "G1"
[records.columns]
read_at = { column = "Zeit", time = "%d.%m.%y %H.%M.%S", zone = "Asia/Kathmandu" }
[records.wide]
pot_temperature_c = { column = "Blase °C", unit = "degC" }
vapour_temperature_c = { column = "Geist °C", unit = "degC" }
pressure_kpa = { column = "Druck", unit = "inHg" }
distillate_flow_l_h = { column = "Ablauf", unit = "US gal/h" }
parrot_strength_pct_vol = { column = "Vorlage", unit = "us_proof" }
parrot_temperature_c = { column = "Vorlage °C", unit = "degC" }
collected_volume_l = { column = "Summe L", unit = "L" }
"""


def write_s1(source: Path, target: Path) -> None:
    """A file a run becomes a file a quarter, tabs, UTF-16, points between thousands; times on a clock in Denver."""
    tell = "%d.%m.%Y %H:%M:%S"
    columns = [
        Column("Vorlage", "QI-101", units.number(units.proof, ",", ".")),
        Column("Vorlage warm", "TI-104", units.number(units.fahrenheit, ",", ".")),
        Column("Uhr", "Time", clock(tell, "America/Denver", "%I:%M:%S %p")),
        Column("Tag", "Time", clock(tell, "America/Denver", "%m/%d/%Y")),
        Column("Ablauf", "FI-101", units.number(units.gallons, ",", ".")),
        Column("Luftdruck", "PI-101", units.number(units.mercury_of_mbar, ",", ".")),
        Column("Geist", "TI-103", units.number(units.kelvin, ",", ".")),
        Column("Kolonne", "TI-102", units.number(units.fahrenheit, ",", ".")),
        Column("Blase", "TI-101", units.number(units.fahrenheit, ",", ".")),
    ]
    for quarter, paths in _by_quarter(source.glob("20*/S1_*.csv")).items():
        (rows,) = dealt(rewritten(read_csv(paths, above=2, below=1), columns), 1, order=1)
        path = target / f"Rauhbrandblase1_{quarter}.txt"
        write_csv(path, columns, rows, "\t", "utf-16", ["Rauhbrandblase 1 (erfunden)"])


def write_s2(source: Path, target: Path) -> None:
    """A file a month becomes a file a quarter and half of its lines, so that one minute's values lie in two files."""
    tags = {
        "S2.TT01": ("Blase", units.fahrenheit), "S2.TT03": ("Geist", units.fahrenheit),
        "S2.TT04": ("VorlageT", units.fahrenheit), "S2.PT01": ("Luft", units.mercury_of_mbar),
        "S2.FT01": ("Ablauf", units.gallons), "S2.QT01": ("Vorlage", units.proof),
    }  # fmt: skip
    columns = [
        Column("Güte", "quality", lambda cell: {"G": "gut", "U": "unsicher"}[str(cell)]),
        Column("Wert", "value"),
        Column("Messstelle", "tag"),
        Column("Sekunde", "time", clock("%Y-%m-%d %H:%M:%S", None, None)),
    ]
    for quarter, paths in _by_quarter(source.glob("20*/S2_*.csv")).items():
        rows = rewritten([_long(row, tags) for row in read_csv(paths)], columns)
        for number, part in enumerate(dealt(rows, 2, order=2), start=1):
            write_csv(target / f"Rauhbrandblase2_{quarter}_{number}.csv", columns, part, "|")


def write_r1(source: Path, target: Path) -> None:
    """A file a run becomes a compressed file a quarter, times on a clock in Tokyo."""
    tags = {
        "R1_T_POT": ("Wärme Blase", units.fahrenheit), "R1_T_P30": ("Wärme Boden 30", units.fahrenheit),
        "R1_T_TOP": ("Wärme oben", units.fahrenheit), "R1_P_TOP": ("Druck oben", units.mercury_of_mbar),
        "R1_F_DIST": ("Ablauf", units.gallons), "R1_REFLUX": ("Rücklauf", units.same),
    }  # fmt: skip
    columns = [
        Column("Zahl", "value"),
        Column("Zeit", "time", clock("%Y-%m-%dT%H:%M:%S%z", "Asia/Tokyo", "%Y%m%d %H%M%S")),
        Column("Größe", "tag"),
    ]
    for quarter, paths in _by_quarter(source.glob("20*/R1_*.csv")).items():
        (rows,) = dealt(rewritten([_long(row, tags) for row in read_csv(paths)], columns), 1, order=3)
        write_csv(target / f"Rektifikation_{quarter}.csv.gz", columns, rows, ";", "cp1252")


def write_g1(source: Path, target: Path) -> None:
    """°F, psi and gallons become °C, inches of mercury and litres, a file a quarter, times on a clock in Kathmandu."""
    celsius = units.number(units.by(1.0 / 1.8, -32.0 / 1.8))
    columns = [
        Column("Zeit", "Time", clock("%d.%m.%Y %H:%M:%S", "Asia/Kathmandu", "%d.%m.%y %H.%M.%S")),
        Column("Summe L", "TOTAL", units.number(units.by(units.LITRES_A_GALLON))),
        Column("Geist °C", "HEAD", celsius),
        Column("Blase °C", "POT", celsius),
        Column("Vorlage °C", "PARROT T", celsius),
        Column("Druck", "ABS PRESS", units.number(units.mercury_of_psi)),
        Column("Vorlage", "PARROT", units.number(units.proof)),
        Column("Ablauf", "FLOW", units.number(units.gallons)),
    ]
    for quarter, paths in _by_quarter(source.glob("20*/G1_*.csv")).items():
        (rows,) = dealt(rewritten(read_csv(paths, above=2, below=1), columns), 1, order=4)
        write_csv(target / f"Geistblase_{quarter}.csv", columns, rows)


def _long(row: Row, tags: dict[str, tuple[str, units.Telling]]) -> Row:
    """A line with tag and value: the value as the tag's unit has it; a tag that nobody knows keeps its line."""
    name, telling = tags.get(as_text(row["tag"]), (as_text(row["tag"]), units.same))
    return {**row, "tag": name, "value": units.number(telling)(row["value"])}


def _by_quarter(paths) -> dict[str, list[Path]]:
    """Files by the quarter of the month that their name ends with."""
    quarters = defaultdict(list)
    for path in sorted(paths):
        year, month = path.stem.split("_")[1].split("-")[:2]
        quarters[f"{year}Q{(int(month) + 2) // 3}"].append(path)
    return quarters
