"""A house small enough to reckon by hand: one mash, one ferment, one strip run, one bottled lot. All of it made up.

Tests write its files into a folder of their own, changing what the case is about.
"""

from pathlib import Path
from textwrap import dedent

HOUSE = """
[house]
name = "Test house (invented)"
time_zone = "Europe/Copenhagen"
site_altitude_m = 0.0

[uncertainty]
volume_pct = 0.3
mass_pct = 0.05
temperature_c = 0.3
alcoholmeter_pct_vol = 0.15
density_kg_m3 = 0.05
strength_pct_vol = 0.08

[[stills]]
code = "S1"
name = "Strip still"
capacity_l = 1200.0
plates = 8
log_interval_s = 60

[[vessels]]
code = "T1"
name = "Spirit tank"
capacity_l = 500.0

[[instruments]]
code = "DM"
kind = "density meter"
name = "Bench density meter"
u = 0.05
unit = "kg/m3"

[[people]]
code = "AB"
role = "head distiller"

[[recipes]]
name = "rye mash"
stage = "mash"
fermentability = 0.85

[[products]]
code = "RYE"
name = "Test rye spirit"
category = "grain spirit"
jurisdiction = "EU"
label_strength_pct_vol = 40.0
nominal_ml = 500.0
laboratory = ["strength", "methanol"]
"""

RUNS_MAP = """
describes = "Runs"
files = ["runs*.csv"]
[read]
format = "csv"
[[records]]
kind = "runs"
header = ["run", "stage"]
[records.columns]
run = "run"
stage = "stage"
equipment = "equipment"
product = "product"
recipe = "recipe"
started_at = { column = "started", time = "%Y-%m-%d %H:%M" }
ended_at = { column = "ended", time = "%Y-%m-%d %H:%M" }
operator = "operator"
"""

MOVES_MAP = """
describes = "Gauges"
files = ["moves*.csv"]
[read]
format = "csv"
[[records]]
kind = "movements"
header = ["run", "dir", "lot"]
[records.columns]
run = "run"
direction = "dir"
lot = "lot"
part = "part"
vessel = "vessel"
volume_at_t_l = "L"
volume_temperature_c = "tV"
strength_reading = "S"
reading_kind = "kind"
reading_temperature_c = "tS"
mass_kg = "kg"
"""

INTAKE_MAP = """
describes = "Goods received"
files = ["intake*.csv"]
[read]
format = "csv"
[[records]]
kind = "intake"
header = ["lot", "material"]
[records.columns]
lot = "lot"
material = "material"
kind = "kind"
received_at = { column = "received", time = "%Y-%m-%d" }
quantity_kg = "kg"
extract_pct = "extract"
moisture_pct = "moisture"
"""

LAB_MAP = """
describes = "Laboratory"
files = ["lab*.csv"]
[read]
format = "csv"
separator = ";"
decimal = ","
[[records]]
kind = "laboratory"
header = ["sample", "lot"]
[records.columns]
sample = "sample"
lot = "lot"
analyte = "analyte"
value = "value"
unit = "unit"
temperature_c = "t"
replicate = "rep"
instrument = "instrument"
"""

BOTTLING_MAP = """
describes = "Bottling"
files = ["bottling*.csv"]
[read]
format = "csv"
[[records]]
kind = "bottling"
header = ["lot", "bottles"]
[records.constants]
nominal_ml = 500
label_strength_pct_vol = 40
[records.columns]
lot = "lot"
run = "run"
product = "product"
bottled_at = { column = "at", time = "%Y-%m-%d %H:%M" }
bottles_filled = "bottles"
bottles_rejected = "rejected"
"""

FILLS_MAP = """
describes = "Fills"
files = ["fills*.csv"]
[read]
format = "csv"
[[records]]
kind = "fills"
header = ["lot", "no", "ml"]
[records.columns]
lot = "lot"
sample_no = "no"
net_content_ml = "ml"
"""

LOG_MAP = """
describes = "Log of S1"
files = ["S1*.csv"]
[read]
format = "csv"
header_line = 2
skip_after_header = 1
[[records]]
kind = "readings"
header = ["Time", "Pot"]
[records.constants]
equipment = "S1"
[records.columns]
read_at = { column = "Time", time = "%d.%m.%Y %H:%M:%S" }
[records.wide]
pot_temperature_c = { column = "Pot", unit = "degF" }
vapour_temperature_c = { column = "Vapour", unit = "degC" }
"""

SPIRIT_MAP = """
describes = "Spirit received, in litres and % vol"
files = ["spirit*.csv"]
[read]
format = "csv"
[[records]]
kind = "intake"
header = ["lot", "material", "L"]
[records.constants]
reading_kind = "pct_vol_20c"
[records.columns]
lot = "lot"
material = "material"
kind = "kind"
vessel = "vessel"
received_at = { column = "received", time = "%Y-%m-%d" }
quantity_l = "L"
quantity_kg = "kg"
strength_reading = "S"
"""

US_SPIRIT_MAP = """
describes = "Spirit received in wine gallons, pounds or proof gallons"
files = ["us_spirit*.csv"]
[read]
format = "csv"
[[records]]
kind = "intake"
header = ["lot", "gallons"]
[records.constants]
kind = "spirit"
reading_kind = "us_proof_60f"
[records.columns]
lot = "lot"
material = "material"
received_at = { column = "received", time = "%Y-%m-%d" }
quantity_l = { column = "gallons", unit = "US gal" }
quantity_kg = { column = "lb", unit = "lb" }
alcohol_l = { column = "PG", unit = "proof gal" }
strength_reading = "proof"
"""

OPENING_MAP = """
describes = "Opening inventory"
files = ["opening*.csv"]
[read]
format = "csv"
[[records]]
kind = "opening_stock"
header = ["lot", "counted"]
[records.columns]
lot = "lot"
material = "material"
kind = "kind"
vessel = "vessel"
counted_at = { column = "counted", time = "%Y-%m-%d %H:%M" }
volume_at_t_l = "L"
volume_temperature_c = "tV"
strength_reading = "S"
reading_kind = "reading"
mass_kg = "kg"
pieces = "bottles"
nominal_ml = "mL"
label_strength_pct_vol = "label"
aged_from = { column = "aged", time = "%Y-%m-%d" }
counted_by = "by"
"""

GLASS_MAP = """
describes = "Packaging received, by number"
files = ["glass*.csv"]
[read]
format = "csv"
[[records]]
kind = "intake"
header = ["lot", "pieces"]
[records.columns]
lot = "lot"
material = "material"
kind = "kind"
received_at = { column = "received", time = "%Y-%m-%d" }
quantity_pieces = "pieces"
"""

COUNTED_MAP = """
describes = "Bottles and packaging drawn, by number"
files = ["counted*.csv"]
[read]
format = "csv"
[[records]]
kind = "movements"
header = ["run", "dir", "number"]
[records.columns]
run = "run"
direction = "dir"
lot = "lot"
part = "part"
pieces = "number"
volume_at_t_l = "L"
volume_temperature_c = "tV"
strength_reading = "S"
reading_kind = "kind"
"""

MAPS = {
    "runs": RUNS_MAP, "moves": MOVES_MAP, "intake": INTAKE_MAP, "lab": LAB_MAP, "bottling": BOTTLING_MAP,
    "fills": FILLS_MAP, "log": LOG_MAP, "spirit": SPIRIT_MAP, "us_spirit": US_SPIRIT_MAP, "opening": OPENING_MAP,
    "glass": GLASS_MAP, "counted": COUNTED_MAP,
}  # fmt: skip

# 200 kg of rye gave 1000 L of wort and wash; the strip run kept 95 of 100 LPA; 40 % vol came of 95 LPA by reduction.
FILES = {
    "intake.csv": """
        lot,material,kind,received,kg,extract,moisture
        MALT-1,rye malt,malt,2026-01-02,500,80,5
    """,
    "runs.csv": """
        run,stage,equipment,product,recipe,started,ended,operator
        MSH-1,mash,M1,,rye mash,2026-01-05 08:00,2026-01-05 14:00,AB
        FER-1,ferment,F1,,,2026-01-05 15:00,2026-01-12 09:00,AB
        STR-1,strip,S1,,,2026-01-12 10:00,2026-01-12 16:00,AB
        RED-1,reduce,T1,RYE,,2026-01-13 08:00,2026-01-13 09:00,AB
        BOT-1,bottle,B1,RYE,,2026-01-14 08:00,2026-01-14 12:00,AB
    """,
    "moves.csv": """
        run,dir,lot,part,vessel,L,tV,S,kind,tS,kg
        MSH-1,in,MALT-1,grain,,,,,,,200
        MSH-1,in,WATER,water,,800,15,,,,
        MSH-1,out,WORT-1,wort,F1,1000,20,,,,
        FER-1,in,WORT-1,wort,F1,1000,20,,,,
        FER-1,out,WASH-1,wash,F1,1000,20,10.0,pct_vol_20c,,
        STR-1,in,WASH-1,wash,F1,1000,20,10.0,pct_vol_20c,,
        STR-1,out,HEADS-1,heads,,1,20,80,pct_vol_20c,,
        STR-1,out,SPIRIT-1,hearts,T1,118.75,20,80,pct_vol_20c,,
        STR-1,out,TAILS-1,tails,,2,20,30,pct_vol_20c,,
        STR-1,out,SPENT-1,spent,,880,20,0.1,pct_vol_20c,,
        RED-1,in,SPIRIT-1,hearts,T1,118.75,20,80,pct_vol_20c,,
        RED-1,in,WATER,water,,124,15,,,,
        RED-1,out,RED-L1,spirit,T1,237.5,20,40,pct_vol_20c,,
        BOT-1,in,RED-L1,spirit,T1,237.5,20,,,,
        BOT-1,out,RYE-1,bottles,,,,,,,
    """,
    "lab.csv": """
        sample;lot;analyte;value;unit;t;rep;instrument
        L1;WORT-1;specific_gravity;1,0600;sg;;1;
        L2;WASH-1;specific_gravity;0,9980;sg;;1;
        L3;RED-L1;density;948,05;kg/m3;20;1;DM
        L3;RED-L1;density;948,07;kg/m3;20;2;DM
        L4;RED-L1;methanol;<5;mg/L;;1;
    """,
    "bottling.csv": """
        lot,run,product,at,bottles,rejected
        RYE-1,BOT-1,RYE,2026-01-14 12:00,470,2
    """,
    "fills.csv": """
        lot,no,ml
        RYE-1,1,501
        RYE-1,2,502
        RYE-1,3,500
    """,
    "S1_0112.csv": """
        controller S1
        Time,Pot,Vapour
        ,degF,degC
        12.01.2026 10:00:00,68,20.0
        12.01.2026 10:01:00,70,20.5
        12.01.2026 10:02:00,,21.0
    """,
}  # fmt: skip


def keep_fills_in_a_workbook(site: Path, sheet: str) -> None:
    """Make the written house's map of fills one of a workbook with this sheet."""
    path = site / "maps" / "fills.toml"
    text = path.read_text(encoding="utf-8").replace('"fills*.csv"', '"fills*.xlsx"').replace('"csv"', '"xlsx"')
    path.write_text(text.replace('kind = "fills"', f'kind = "fills"\nsheet = "{sheet}"'), encoding="utf-8")


def write_house(folder: Path, files: dict[str, str] | None = None) -> list[Path]:
    """Write profile, maps and data files into a folder; `files` replaces or adds some. Returns the data files."""
    (folder / "maps").mkdir(parents=True, exist_ok=True)
    (folder / "house.toml").write_text(HOUSE, encoding="utf-8")
    for name, text in MAPS.items():
        (folder / "maps" / f"{name}.toml").write_text(text, encoding="utf-8")
    paths = []
    for name, text in {**FILES, **(files or {})}.items():
        path = folder / name
        path.write_text(dedent(text).lstrip("\n"), encoding="utf-8")
        paths.append(path)
    return paths
