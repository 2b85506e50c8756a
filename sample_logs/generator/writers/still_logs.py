"""Logs of the four stills: two write a row a minute with a column a tag, two a line a value.

S1 and G1 put two lines of their own above the header and a row of units below it. G1's controller thinks in
degrees Fahrenheit, psi and US gallons. R1 writes UTC.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np

from ..chance import stream
from ..logs import minute
from ..records import Book, Log
from .output import Output, Section, by_month, lines, month_of

ZONE = ZoneInfo("Europe/Copenhagen")
LOCAL = "%d.%m.%Y %H:%M:%S"

Scale = Callable[[float], float]
# tag, the device's own name, unit, scale from SI, decimals
Column = tuple[str, str, str, Scale, int]


def _same(value: float) -> float:
    return value


def _mbar(value: float) -> float:
    return value * 10.0


def _psi(value: float) -> float:
    return value / 6.894757


def _fahrenheit(value: float) -> float:
    return value * 1.8 + 32.0


def _us_gallons(value: float) -> float:
    return value / 3.785412


S1_COLUMNS: tuple[Column, ...] = (
    ("pot_temperature_c", "TI-101", "°C", _same, 1),
    ("column_temperature_c", "TI-102", "°C", _same, 1),
    ("vapour_temperature_c", "TI-103", "°C", _same, 1),
    ("pressure_kpa", "PI-101", "mbar", _mbar, 1),
    ("distillate_flow_l_h", "FI-101", "L/h", _same, 1),
    ("parrot_strength_pct_vol", "QI-101", "% vol", _same, 1),
    ("parrot_temperature_c", "TI-104", "°C", _same, 1),
)
G1_COLUMNS: tuple[Column, ...] = (
    ("pot_temperature_c", "POT", "degF", _fahrenheit, 1),
    ("vapour_temperature_c", "HEAD", "degF", _fahrenheit, 1),
    ("pressure_kpa", "ABS PRESS", "psi", _psi, 2),
    ("distillate_flow_l_h", "FLOW", "L/h", _same, 1),
    ("parrot_strength_pct_vol", "PARROT", "% vol", _same, 1),
    ("parrot_temperature_c", "PARROT T", "degF", _fahrenheit, 1),
    ("collected_volume_l", "TOTAL", "US gal", _us_gallons, 2),
)
S2_COLUMNS: tuple[Column, ...] = (
    ("pot_temperature_c", "S2.TT01", "", _same, 1),
    ("vapour_temperature_c", "S2.TT03", "", _same, 1),
    ("pressure_kpa", "S2.PT01", "", _mbar, 1),
    ("distillate_flow_l_h", "S2.FT01", "", _same, 1),
    ("parrot_strength_pct_vol", "S2.QT01", "", _same, 1),
    ("parrot_temperature_c", "S2.TT04", "", _same, 1),
)
R1_COLUMNS: tuple[Column, ...] = (
    ("pot_temperature_c", "R1_T_POT", "", _same, 1),
    ("column_temperature_c", "R1_T_P30", "", _same, 2),
    ("vapour_temperature_c", "R1_T_TOP", "", _same, 2),
    ("pressure_kpa", "R1_P_TOP", "", _mbar, 1),
    ("distillate_flow_l_h", "R1_F_DIST", "", _same, 1),
    ("reflux_ratio", "R1_REFLUX", "", _same, 2),
)
# Ordinary unreadable cells: run number within the still, minute, column, what stands there.
UNREADABLE = {
    "S1": {(7, 41): (1, "n/a"), (31, 203): (4, "1o2.4")},
    "S2": {(12, 150): (2, "OVR"), (40, 88): (4, "n/a")},
    "R1": {(9, 300): (5, "bad")},
    "G1": {(16, 120): (3, "o.85")},
}
UNCERTAIN_SHARE = 0.0008  # of S2's values that its own electronics mark as uncertain


def still_logs(book: Book) -> list[Output]:
    """All log files."""
    logs = {still: [log for log in book.logs if log.still == still] for still in UNREADABLE}
    outputs = [
        _wide(f"S1_{log.started:%Y-%m-%d}.csv", "Strip still 1 - controller", [(n, log)], S1_COLUMNS)
        for n, log in enumerate(logs["S1"])
    ]
    outputs += [_long_r1(n, log) for n, log in enumerate(logs["R1"])]
    numbered = {still: list(enumerate(logs[still])) for still in ("S2", "G1")}
    for month, items in by_month(numbered["S2"], lambda item: item[1].started).items():
        outputs.append(_long_s2(f"S2_{month}.csv", items))
    for month, items in by_month(numbered["G1"], lambda item: item[1].started).items():
        outputs.append(_wide(f"G1_{month}.csv", "GIN STILL PANEL", items, G1_COLUMNS))
    return outputs


def _wide(name: str, title: str, logs: list[tuple[int, Log]], columns: tuple[Column, ...]) -> Output:
    rows: list[list[object]] = [
        [f"{title} export"],
        ["interval 60 s"],
        ["Time", *(column[1] for column in columns)],
        ["dd.mm.yyyy hh:mm:ss", *(column[2] for column in columns)],
    ]
    refused = 0
    for number, log in logs:
        planted = UNREADABLE[log.still]
        for at in range(log.values["pot_temperature_c"].size):
            row: list[object] = [f"{minute(log, at):{LOCAL}}", *(_shown(log, column, at) for column in columns)]
            if (number, at) in planted:
                column, text = planted[(number, at)]
                row[column + 1], refused = text, refused + 1
            rows.append(row)
    path = f"{month_of(logs[0][1].started)}/{name}"
    return Output(path, b"\xef\xbb\xbf" + lines(rows), (Section("readings", len(rows) - 4, refused),))


def _long_s2(name: str, logs: list[tuple[int, Log]]) -> Output:
    rows, refused, passed = _long(logs, S2_COLUMNS, lambda at: f"{at:%Y-%m-%d %H:%M:%S}", with_quality=True)
    content = lines([["time", "tag", "value", "quality"], *rows])
    return Output(f"{month_of(logs[0][1].started)}/{name}", content, (Section("readings", len(rows), refused, passed),))


def _long_r1(number: int, log: Log) -> Output:
    rows, refused, _ = _long([(number, log)], R1_COLUMNS, _utc, with_quality=False)
    content = lines([["time", "tag", "value"], *rows])
    path = f"{month_of(log.started)}/R1_{log.started:%Y-%m-%d}.csv"
    return Output(path, content, (Section("readings", len(rows), refused),))


def _long(
    logs: list[tuple[int, Log]], columns: tuple[Column, ...], clock: Callable[[datetime], str], with_quality: bool
) -> tuple[list[list[object]], int, int]:
    """Rows, and how many of them cannot be read or are marked as uncertain."""
    rows: list[list[object]] = []
    refused = passed = 0
    for number, log in logs:
        planted, rng = UNREADABLE[log.still], stream(f"quality {log.run}")
        for at in range(log.values["pot_temperature_c"].size):
            time = clock(minute(log, at))
            for position, column in enumerate(columns):
                shown = _shown(log, column, at)
                if shown is None:
                    continue
                uncertain = with_quality and rng.random() < UNCERTAIN_SHARE
                if (number, at) in planted and planted[(number, at)][0] == position:
                    shown, uncertain, refused = planted[(number, at)][1], False, refused + 1
                passed += uncertain
                rows.append([time, column[1], shown, *(["U" if uncertain else "G"] if with_quality else [])])
    return rows, refused, passed


def _shown(log: Log, column: Column, at: int) -> str | None:
    tag, _, _, scale, decimals = column
    value = float(log.values[tag][at])
    return None if np.isnan(value) else f"{scale(value):.{decimals}f}"


def _utc(at: datetime) -> str:
    return f"{at.replace(tzinfo=ZONE).astimezone(UTC):%Y-%m-%dT%H:%M:%SZ}"
