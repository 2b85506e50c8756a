"""What the strip still's log says. It was written so that it can be added up: from minute 69.5 to 99.5 after 10:00
heads at 16.2 L/h, to 279.5 hearts at 118.6, to 319.5 tails at 79.2, each with a ripple of 0.2 that averages out.

Volume 0.5 h x 16.2 + 3 h x 118.6 + 0.6667 h x 79.2 = 8.1 + 355.8 + 52.8 = 416.7 L. Strength by glass: 84.4 at 23.0
°C, 71.6 at 24.5, 26.0 at 25.0 are 83.54, 70.05 and 24.13 % vol.
"""

import csv
import json
from datetime import datetime, timedelta
from itertools import pairwise
from math import hypot, sqrt

import pytest

from tests.oracle import by_hand_r22 as r22
from tests.oracle.book_by_hand import BookByHand
from tests.oracle.expectation import Row, agree, covers, expect, in_book
from tests.oracle.house_by_hand import HOUSE

covers(
    "derived.run_curves", "run", "equipment", "stage", "log_started_at", "points", "interval_s", "heat_from_at",
    "vapour_at",
    "first_drop_at", "u_first_drop_min", "hearts_from_sheet_at", "hearts_from_at", "u_hearts_from_min",
    "hearts_from_by",
    "hearts_to_sheet_at", "hearts_to_at", "u_hearts_to_min", "hearts_to_by", "end_at", "u_end_min", "heat_up_k_min",
    "hearts_l_h",
    "hearts_alcohol_l_h", "hearts_reflux_ratio", "steam_kg", "heating_kwh", "energy_kwh_per_alcohol_l",
    "vapour_residual_c",
    "u_vapour_residual_c", "reached_pct_vol", "stages_needed", "stages_available", "likely_wrong", "good",
    "band_runs", "band",
    "distance", "distance_limit",
)  # fmt: skip
covers(
    "derived.curve_cuts", "run", "part", "from_at", "to_at", "volume_l", "u_volume_l", "alcohol_l", "u_alcohol_l",
    "bridged",
    "strength_bridged", "gauged_volume_l", "u_gauged_volume_l", "gauged_alcohol_l", "u_gauged_alcohol_l",
    "difference_l",
    "u_difference_l",
)  # fmt: skip
covers("derived.kept_curves", "run", "curve")

START = datetime(2026, 3, 9, 9)  # 10:00 in Copenhagen
FLOW_U = 0.01  # of a flow meter, where the profile states none (common practice)
PARROT_U = 0.25  # alcoholmeter_pct_vol of the profile
TAGS = {
    "pot_temperature_c": "pot", "vapour_temperature_c": "vapour", "pressure_kpa": "mbar", "steam_kg_h": "steam",
    "distillate_flow_l_h": "flow", "parrot_strength_pct_vol": "parrot", "parrot_temperature_c": "parrot t",
}  # fmt: skip


def at(minute: float) -> datetime:
    """A minute of the log, UTC."""
    return START + timedelta(minutes=minute)


def minute(time: datetime) -> float:
    """A time as a minute of the log."""
    return (time - START).total_seconds() / 60.0


def log() -> list[dict[str, str]]:
    """Its lines, one a minute from 0 to 330."""
    with (HOUSE / "S1_2026-03-09.csv").open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def series(tag: str) -> list[tuple[int, float]]:
    """Minute and value where there is one; mbar are tenths of a kPa."""
    part = 0.1 if tag == "pressure_kpa" else 1.0
    return [(m, float(row[TAGS[tag]]) * part) for m, row in enumerate(log()) if row[TAGS[tag]]]


@expect("derived.log_summaries", "run", "tag")
def test_log_summaries(by_hand: BookByHand) -> list[Row]:
    """331 lines from 10:00 to 15:30; the parrot from minute 70 to 319 only, 250 lines. Steam stood at 150 kg/h
    from minute 70 on: within the hearts of the sheet, minutes 100 to 280, to minute 279: 179 minutes. The flow
    repeats for one minute at a time."""
    rows = []
    for tag in TAGS:
        points = series(tag)
        in_hearts = [(m, value) for m, value in points if 100 <= m <= 280]
        stuck, since = 0, in_hearts[0][0]
        for (_, before), (m, value) in pairwise(in_hearts):
            since = since if value == before else m
            stuck = max(stuck, m - since)
        values = [value for _, value in points]
        rows.append({
            "run": "STR-1", "equipment": "S1", "tag": tag, "points": len(points), "first_at": at(points[0][0]),
            "last_at": at(points[-1][0]), "least": min(values), "greatest": max(values),
            "mean": sum(values) / len(values),
            "longest_gap_min": 1.0, "longest_stuck_min": float(stuck), "expected_points": 331,
        })  # fmt: skip
    return rows


@expect("derived.log_clocks", "run")
def test_log_clocks(by_hand: BookByHand) -> list[Row]:
    """Sheet and log both go from 10:00 to 15:30: the clock agrees."""
    return [{"run": "STR-1", "equipment": "S1", "started_at": START, "log_started_at": START, "offset_min": 0.0}]


def strengths() -> dict[int, float]:
    """% vol at 20 °C of the parrot's glass, by minute."""
    return {
        m: r22.strength_of(r22.fraction_read("alcoholmeter", float(row["parrot"]), float(row["parrot t"])))
        for m, row in enumerate(log())
        if row["parrot"]
    }


class Stream:
    """Litres and litres of alcohol that have run off, added up by trapezia from minute to minute."""

    def __init__(self) -> None:
        self.flow = [value for _, value in series("distillate_flow_l_h")]
        known = strengths()
        self.strength = [known[min(max(m, 70), 319)] for m in range(331)]
        self.litres, self.alcohol = [0.0], [0.0]
        for m in range(330):
            mean = (self.flow[m] + self.flow[m + 1]) / 2.0 / 60.0
            self.litres.append(self.litres[-1] + mean)
            self.alcohol.append(self.alcohol[-1] + mean * (self.strength[m] + self.strength[m + 1]) / 200.0)

    def between(self, sums: list[float], first: float, last: float) -> float:
        """What ran off from one minute to another."""
        first_sum, last_sum = (sums[int(m)] + (m - int(m)) * (sums[int(m) + 1] - sums[int(m)]) for m in (first, last))
        return last_sum - first_sum

    def at_cut(self, m: float) -> tuple[float, float]:
        """Flow [L/min] and strength [% vol] at a cut: the mean of both its sides."""
        before, after = int(m) - 2, int(m) + 3
        flow = (self.flow[before] + self.flow[after]) / 120.0
        return flow, (self.strength[before] + self.strength[after]) / 2.0


CUTS = {"heads": 69.5, "hearts": 99.5, "tails": 279.5, "all": 69.5}
PARTS = {"heads": "STR-1-H", "hearts": "HRT-1", "tails": "STR-1-T"}


def cuts(found: list[Row], by_hand: BookByHand) -> list[Row]:
    """Rows of the cuts, integrated between the times that the book found for them (those are tried by themselves)."""
    stream, rows = Stream(), []
    for row in found:
        # what ran before the first cut is heads and after the last one tails, half minutes of first drop and end
        # included
        first = minute(row["from_at"]) if row["part"] in ("hearts", "tails") else 0
        last = minute(row["to_at"]) if row["part"] in ("heads", "hearts") else 329.999999
        litres, alcohol = stream.between(stream.litres, first, last), stream.between(stream.alcohol, first, last)
        expected = {
            "run": "STR-1",
            "part": row["part"],
            "volume_l": litres,
            "alcohol_l": alcohol,
            "bridged": 0.0,
            "strength_bridged": 0.0,
        }
        gauge = by_hand.gauges["STR-1", "out", PARTS[row["part"]]] if row["part"] in PARTS else None
        expected |= {
            "gauged_volume_l": gauge and gauge.volume, "u_gauged_volume_l": gauge and gauge.u_volume,
            "gauged_alcohol_l": gauge and gauge.alcohol, "u_gauged_alcohol_l": gauge and gauge.u_alcohol,
            "difference_l": row["alcohol_l"] - (gauge.alcohol or 0.0) if gauge else None,
            "u_difference_l": hypot(row["u_alcohol_l"], gauge.u_alcohol or 0.0) if gauge else None,
        }  # fmt: skip
        rows.append(expected)
    return rows


def test_cuts(oracle_book, by_hand: BookByHand) -> None:
    """All: 416.70 L and 269.04 LPA. Each cut is the log's integral between its times, its gauges beside it, and
    the difference of both with the root of both uncertainties: tails 12.595 - 12.121 = 0.474, sqrt(0.336^2 +
    0.126^2) = 0.359."""
    found = in_book(oracle_book, "derived.curve_cuts")
    assert {row["part"] for row in found} == CUTS.keys()
    agree(
        oracle_book,
        "derived.curve_cuts",
        ("run", "part"),
        cuts(found, by_hand),
        {"alcohol_l": 5e-4, "u_difference_l": 1e-4},
        "true",
    )
    (everything,) = (row for row in found if row["part"] == "all")
    assert everything["volume_l"] == pytest.approx(416.7)


def test_uncertainties_of_cuts(oracle_book) -> None:
    """First order: 1 % of the flow; the parrot's 0.25 % vol and what 0.4 K make of it (0.33 % vol a kelvin); at
    each cut its time's uncertainty times the flow there. All: volume 4.167 L, alcohol 269.04 x sqrt(0.01^2 +
    (0.282 / 64.56)^2) = 2.94 LPA. The flow steps at a cut, so what half a minute is worth is known to a tenth: so
    closely the two are compared."""
    stream = Stream()
    (curve,) = in_book(oracle_book, "derived.run_curves")
    u_time = {"heads": (0.289, curve["u_hearts_from_min"]), "hearts": (curve["u_hearts_from_min"],
    curve["u_hearts_to_min"]),
              "tails": (curve["u_hearts_to_min"], 0.289), "all": (0.0, 0.0)}  # fmt: skip
    for row in in_book(oracle_book, "derived.curve_cuts"):
        volume, alcohol = row["volume_l"], row["alcohol_l"]
        by_glass = hypot(PARROT_U, 0.33 * 0.4) * volume / 100.0
        u_volume, u_alcohol = (FLOW_U * volume) ** 2, (FLOW_U * alcohol) ** 2 + by_glass**2
        for u, time in zip(u_time[row["part"]], (row["from_at"], row["to_at"]), strict=True):
            if 90 < minute(time) < 300:  # at the first drop and at the end there is next to no flow
                flow, strength = stream.at_cut(minute(time))
                u_volume += (flow * u) ** 2
                u_alcohol += (flow * u * strength / 100.0) ** 2
        assert row["u_volume_l"] == pytest.approx(sqrt(u_volume), rel=0.1), row["part"]
        assert row["u_alcohol_l"] == pytest.approx(sqrt(u_alcohol), rel=0.1), row["part"]


@expect("derived.curve_findings", "run", "kind")
def test_findings(by_hand: BookByHand) -> list[Row]:
    """Nothing in it contradicts itself."""
    return []


def test_times_of_cuts(oracle_book) -> None:
    """First drop between minutes 69 and 70, end between 319 and 320: their middle, within half a minute, u = 1 /
    sqrt 12 min. The cuts are at 99.5 and 279.5; what the book found lies within twice its own uncertainty, which
    is under a minute."""
    (row,) = in_book(oracle_book, "derived.run_curves")
    assert (row["first_drop_at"], row["end_at"]) == (at(69.5), at(319.5))
    assert row["u_first_drop_min"] == row["u_end_min"] == pytest.approx(1.0 / sqrt(12.0))
    for name, true in (("hearts_from", 99.5), ("hearts_to", 279.5)):
        assert 0.0 < row[f"u_{name}_min"] < 1.0
        assert abs(minute(row[f"{name}_at"]) - true) < 2.0 * row[f"u_{name}_min"], name
    assert (row["hearts_from_by"], row["hearts_to_by"]) == ("change of flow", "receivers")
    by_cut = {cut["part"]: (cut["from_at"], cut["to_at"]) for cut in in_book(oracle_book, "derived.curve_cuts")}
    assert by_cut == {
        "heads": (row["first_drop_at"], row["hearts_from_at"]), "hearts": (row["hearts_from_at"], row["hearts_to_at"]),
        "tails": (row["hearts_to_at"], row["end_at"]), "all": (row["first_drop_at"], row["end_at"]),
    }  # fmt: skip


def test_run_curve(oracle_book) -> None:
    """Heat-up: from 20.0 to 92.6 °C in 62 minutes, 1.171 K/min; vapour comes while its thermometer climbs, minutes
    63 to 70. Hearts: the cut's litres over its hours. Steam by trapezia: 210 kg/h x 69 min + 180 x 1 + 150 x 209 +
    145 x 1 + 140 x 39 + 70 x 1 = 51695 / 60 = 861.583 kg; x 2256.5 kJ/kg / 3600 = 540.05 kWh (steam at 100 °C,
    steam tables) / 269.04 LPA = 2.0073. Strongest: 84.5 on glass at 23.1 °C, 83.61 % vol."""
    (row,) = in_book(oracle_book, "derived.run_curves")
    of_cut = {cut["part"]: cut for cut in in_book(oracle_book, "derived.curve_cuts")}
    hours = (minute(row["hearts_to_at"]) - minute(row["hearts_from_at"])) / 60.0
    steam = [value for _, value in series("steam_kg_h")]
    steam_kg = sum((a + b) / 2.0 for a, b in pairwise(steam)) / 60.0
    assert steam_kg == pytest.approx(51695 / 60)
    agree(oracle_book, "derived.run_curves", ("run",), [{
        "run": "STR-1", "equipment": "S1", "stage": "strip", "log_started_at": START, "points": 331, "interval_s": 60.0,
        "hearts_from_sheet_at": at(100), "hearts_to_sheet_at": at(280), "heat_up_k_min": 72.6 / 62.0,
        "hearts_l_h": of_cut["hearts"]["volume_l"] / hours, "hearts_alcohol_l_h": of_cut["hearts"]["alcohol_l"] / hours,
        "hearts_reflux_ratio": None, "steam_kg": steam_kg, "heating_kwh": None,
        "energy_kwh_per_alcohol_l": steam_kg * 2256.5 / 3600.0 / of_cut["all"]["alcohol_l"],
        "reached_pct_vol": max(strengths().values()), "likely_wrong": None, "good": True, "band_runs": 0,
        "band": "no band yet",
        "distance": None, "distance_limit": None,
    }], {"heat_up_k_min": 2e-3, "energy_kwh_per_alcohol_l": 1e-3, "hearts_l_h": 1e-5, "hearts_alcohol_l_h": 1e-5},
    "true")  # fmt: skip
    assert 0.0 <= minute(row["heat_from_at"]) < 2.0
    assert 63.0 < minute(row["vapour_at"]) < 70.0


# Perry's Chemical Engineers' Handbook, 4th edition, p. 13-5, at 101.325 kPa: boiling point [°C], ethanol in liquid
# and vapour [mol].
PERRY = (
    (95.5, 0.0190, 0.1700), (89.0, 0.0721, 0.3891), (86.7, 0.0966, 0.4375), (85.3, 0.1238, 0.4704), (84.1, 0.1661,
    0.5089),
    (82.7, 0.2337, 0.5445), (82.3, 0.2608, 0.5580), (81.5, 0.3273, 0.5826), (80.7, 0.3965, 0.6122), (79.8, 0.5079,
    0.6564),
    (79.7, 0.5198, 0.6599), (79.3, 0.5732, 0.6841),
)  # fmt: skip


def mole_fraction(strength: float) -> float:
    """Of ethanol, from % vol. 70.05 % vol is 62.4 % by mass: 0.6244 / 46.07 over that + 0.3756 / 18.015 = 0.394."""
    p = r22.fraction_of(strength)
    return p / 46.07 / (p / 46.07 + (1.0 - p) / 18.015)


def by_table(value: float, known: int, asked: int) -> float:
    """Interpolated in Perry's table."""
    for low, high in pairwise(PERRY):
        if low[known] <= value <= high[known] or high[known] <= value <= low[known]:
            return low[asked] + (value - low[known]) / (high[known] - low[known]) * (high[asked] - low[asked])
    raise ValueError(value)


def test_vapour_against_the_table(oracle_book) -> None:
    """Vapour of 70.05 % vol (y = 0.395) condenses at 88.72 °C by the table; the thermometer says 88.4: -0.32 K.
    Old data scatter by up to 0.9 K there, and the book says 0.5 K of itself: so much the two may differ. The
    pressure, 101.3 kPa, shifts it by 0.01 K."""
    (row,) = in_book(oracle_book, "derived.run_curves")
    expected = 88.4 - by_table(mole_fraction(r22.strength_of(r22.fraction_read("alcoholmeter", 71.6, 24.5))), 2, 0)
    assert expected == pytest.approx(-0.32, abs=0.01)
    assert row["vapour_residual_c"] == pytest.approx(expected, abs=0.9)
    assert 0.3 < row["u_vapour_residual_c"] < 0.9


def test_ideal_stages_against_the_table(oracle_book) -> None:
    """At total reflux from the wash (11.2 % vol, x = 0.037) the table's steps give y = 0.24, then 0.55, then 0.67:
    83.61 % vol (y = 0.60) takes between two and three; pot and a table read in straight lines make it no surer
    than to one. Eight plates and the pot can give no more than nine."""
    (row,) = in_book(oracle_book, "derived.run_curves")
    first = by_table(mole_fraction(11.16), 1, 2)
    second = by_table(first, 1, 2)
    top = mole_fraction(max(strengths().values()))
    assert first < second < top < by_table(second, 1, 2)
    assert 1.5 < row["stages_needed"] < 3.0
    assert row["stages_needed"] < row["stages_available"] <= 9.0


def test_kept_curve(oracle_book) -> None:
    """The curve that is kept is the one of the tables, so that the next check need not read the log again."""
    (kept,) = in_book(oracle_book, "derived.kept_curves")
    (row,) = in_book(oracle_book, "derived.run_curves")
    assert kept["run"] == "STR-1"
    assert len(kept["fingerprint"]) == 64
    assert json.dumps(row["reached_pct_vol"]) in kept["curve"]
