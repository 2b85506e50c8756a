"""Fourteen strip runs on one still, so that losses have a usual size and a month has a scatter. Invented.

Each wash comes as a delivery of 9.7 % vol at 20 °C; what was lost in each run is typed here, and the hearts are
what is left. Ten runs lose about 2 %; from the eleventh on, 13 April 2026, about 8 %. The log of the third is that
of the oracle house, with the thermometer of its pot standing still for 70 minutes while the pot gets hotter by 2.3
K.
"""

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from shutil import copytree

from tests.oracle.house_by_hand import HOUSE

PROFILE = """
[house]
name = "Fourteen runs (invented)"
time_zone = "Europe/Copenhagen"
site_altitude_m = 0.0
maps = "maps"

[uncertainty]
volume_pct = 0.1
mass_pct = 0.05
temperature_c = 0.1
alcoholmeter_pct_vol = 0.05
density_kg_m3 = 0.05
strength_pct_vol = 0.03
scatter = 0.6

[[stills]]
code = "S1"
name = "Strip still"
capacity_l = 2900.0
plates = 8
log_interval_s = 60

[[people]]
code = "KM"
role = "head distiller"
"""
LOST = (2.1, 1.7, 2.4, 1.9, 2.6, 1.8, 2.2, 2.0, 2.3, 1.6, 7.9, 8.6, 8.2, 8.8)  # LPA
STRENGTH, HEARTS = 9.7, 70.0
CHECKS = {
    "TH-1": "1990-01-01 01:00,20.0,20.1,degC,2100-12-31",
    "TH-2": "1989-12-31 23:00,20.0,20.1,degC,2026-06-01",
    "TH-3": "2026-01-05 08:00,20.0,20.1,degC,2101-01-02",
}
STANDING = (130, 200)  # minutes of the log between which the thermometer of the pot stands


@dataclass(frozen=True)
class Strip:
    """One run of the series."""

    number: int
    started: datetime  # local
    wash_l: float
    lost_l: float

    @property
    def name(self) -> str:
        """Of the run."""
        return f"STR-{self.number:02}"

    @property
    def charge(self) -> float:
        """LPA charged: 1010 L x 9.7 % = 97.97 for the first."""
        return self.wash_l * STRENGTH / 100.0

    @property
    def hearts_l(self) -> float:
        """Litres of hearts at 70 % vol, as they are written down, to a thousandth: (97.97 - 2.1) / 0.7 = 136.957."""
        return round((self.charge - self.lost_l) / HEARTS * 100.0, 3)

    @property
    def loss(self) -> float:
        """LPA in less out, as the gauges have it."""
        return self.charge - self.hearts_l * HEARTS / 100.0


def strips() -> list[Strip]:
    """The runs: every second or third day from 16 March 2026, with charges that differ."""
    day = datetime(2026, 3, 16, 10)
    days = (0, 2, 4, 7, 9, 11, 14, 16, 21, 23, 28, 30, 32, 35)
    return [
        Strip(i + 1, day + timedelta(days=days[i]), 1010.0 + 13.0 * ((i * 5) % 7), lost) for i, lost in enumerate(LOST)
    ]


def write_series(folder: Path) -> None:
    """Its profile, the maps of the oracle house, and four files and a log."""
    copytree(HOUSE / "maps", folder / "maps")
    (folder / "house.toml").write_text(PROFILE, encoding="utf-8")
    runs = ["run,stage,equipment,product,recipe,started,ended,operator,hearts from,hearts to"]
    intake = ["lot,material,kind,supplier,received,kg,L,pieces,vessel,tV,S,read as,extract,moisture,condition"]
    gauges = ["run,dir,lot,part,vessel,gauged,L,tV,S,read as,tS,kg,pieces,meter,prepared"]
    for strip in strips():
        start, end = strip.started, strip.started + timedelta(hours=5, minutes=30)
        wash, hearts = f"WASH-{strip.number:02}", f"HRT-{strip.number:02}"
        came = start - timedelta(hours=3)
        runs.append(f"{strip.name},strip,S1,,,{start:%Y-%m-%d %H:%M},{end:%Y-%m-%d %H:%M},KM,,")
        intake.append(f"{wash},wash,wash,,{came:%Y-%m-%d %H:%M},,{strip.wash_l},,,20,{STRENGTH},pct_vol_20c,,,")
        gauges.append(
            f"{strip.name},in,{wash},wash,,{start:%Y-%m-%d %H:%M},{strip.wash_l},20,{STRENGTH},"
            "pct_vol_20c,,,,,distilled"
        )
        gauges.append(
            f"{strip.name},out,{hearts},hearts,,{end:%Y-%m-%d %H:%M},{strip.hearts_l},20,{HEARTS},pct_vol_20c,,,,,"
        )
    # 431 L of water are drawn of a lot of 400; and times just within and just outside the years of working clocks
    intake.append("WAT-9,water,water,,2026-04-01 09:00,,400,,,20,,,,,")
    runs.append("RED-9,reduce,T9,,,2026-04-21 09:00,2026-04-21 10:00,KM,,")
    gauges.append("RED-9,in,WAT-9,water,,2026-04-21 09:00,431,20,,,,,,,")
    gauges.append("RED-9,in,HRT-01,hearts,,2026-04-21 09:05,120,20,70,pct_vol_20c,,,,,")
    gauges.append("RED-9,out,LIQ-9,spirit,,2026-04-21 10:00,541.5,20,15.4,pct_vol_20c,,,,,")
    checks = ["instrument,checked,reference,reading,unit,due", *(f"{name},{times}" for name, times in CHECKS.items())]
    for name, lines in (("runs", runs), ("intake", intake), ("gauges", gauges), ("calibrations", checks)):
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    _write_log(folder, strips()[2].started)


def _write_log(folder: Path, started: datetime) -> None:
    with (HOUSE / "S1_2026-03-09.csv").open(newline="", encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    for minute, row in enumerate(rows):
        row["time"] = f"{started + timedelta(minutes=minute):%Y-%m-%d %H:%M:%S}"
        if STANDING[0] <= minute <= STANDING[1]:
            row["pot"] = rows[STANDING[0]]["pot"]
    with (folder / "S1_third.csv").open("w", newline="", encoding="utf-8") as out:
        writer = csv.DictWriter(out, rows[0])
        writer.writeheader()
        writer.writerows(rows)
