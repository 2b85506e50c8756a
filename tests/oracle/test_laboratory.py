"""What the laboratory measured, and whether all readings of a lot's strength agree."""

from math import hypot, sqrt

import pytest

from tests.oracle.book_by_hand import BookByHand, u_by_density
from tests.oracle.expectation import Row, expect, in_book
from tests.oracle.house_by_hand import METERS, SHARED, SINGLE, Gauge, read, utc

ACCEPTED = (41.52 + 41.62) / 2
OF_TWO = sqrt(SHARED**2 + SINGLE**2 / 2.0)  # u of the mean of two results by one instrument, as a part of one's


def laboratory_by_hand() -> list[Row]:
    """A lot's accepted value: the mean of its replicates, their spread beside it. Uncertainty of a strength: 0.06
    kg/m3 over the slope of density, 0.06 / 1.6657 = 0.0360 % vol at 41.57, 0.06 / 4.094 = 0.0147 at 96.24; that of the
    mean of two: below. Congeners by pure alcohol: 8.6 mg/L = 0.86 g/hL; / 0.9624 = 0.8936 g/hL pa; u: 0.03 g/hL pa is
    0.2887 mg/L at 96.24 %, with 4 % of 8.6 = 0.344 the root of squares 0.4491. Methanol below 2.5 is its limit: the
    root of 0.03^2 and (4 % x 2.5)^2 = 0.1044."""
    rows = []
    for row in read("laboratory.csv", ";"):
        if (row["analyte"], row["replicate"]) == ("strength", "2"):
            continue  # the second result of PROOF-1 is in the mean
        value = float(row["value"].lstrip("<").replace(",", "."))
        proof = row["lot"] == "PROOF-1" and row["analyte"] == "strength"
        u = None
        if row["analyte"] == "strength":
            u = u_by_density(ACCEPTED if proof else value, METERS["DM-2"]) * (OF_TWO if proof else 1.0)
        elif row["analyte"] == "ethyl_acetate":
            u = hypot(0.03 * 96.24 / 100 * 10, 0.04 * 8.6)  # 1 g/hL pa at 96.24 % vol is 9.624 mg/L
        elif row["analyte"] == "methanol":
            u = hypot(0.03, 0.04 * 2.5)
        rows.append({
            "lot": row["lot"], "analyte": row["analyte"], "value": ACCEPTED if proof else value, "unit": row["unit"],
            "u_value": u, "scatter": None if u is None else SINGLE / sqrt(2.0) / OF_TWO if proof else SINGLE,
            "preparation": (row["prepared"] or None) if row["analyte"] == "strength" else None,
            "below_limit": row["value"].startswith("<"), "replicates": 2 if proof else 1,
            "spread": 0.10 if proof else 0.0,
            "per_alcohol_g_hl": {"ethyl_acetate": 8.6 / 10 / 0.9624, "methanol": 2.5}.get(row["analyte"]),
            "samples": row["sample"], "methods": row["method"], "instrument": row["meter"] or None,
            # of two results the time of the later, the place of the first
            "measured_at": utc("25.03.2026 10:20" if proof else row["measured"], "%d.%m.%Y %H:%M"),
            "source_id": "laboratory.csv", "line": int(row["line"]),
        })  # fmt: skip
    return rows


@expect("derived.laboratory", "lot", "analyte", loose={"u_value": 2e-3})
def test_laboratory(by_hand: BookByHand) -> list[Row]:
    """Accepted values of every lot and analyte, worked out at `laboratory_by_hand`."""
    return laboratory_by_hand()


def test_mean_of_two_results_is_surer_than_one(oracle_book) -> None:
    """Of a result's 0.0360 % vol 0.6 is its own and 0.8 the meter's (scatter). Of two the own parts are averaged
    (JCGM 100, 4.2.3): 0.0360 x sqrt(0.8^2 + 0.6^2 / 2) = 0.0326."""
    (row,) = in_book(oracle_book, "derived.laboratory", "lot = 'PROOF-1' AND analyte = 'strength'")
    assert row["u_value"] == pytest.approx(0.036020 * sqrt(0.64 + 0.18), rel=2e-3)


Reading = tuple[Row, float, float]


def strengths(by_hand: BookByHand) -> dict[str, list[Reading]]:
    """All readings of a lot's strength: identity, strength, standard uncertainty. Bottles' strength is the
    laboratory's once more, and a label is no reading."""
    found: dict[str, list[Reading]] = {}

    def add(kind: str, lot: str, gauge: Gauge, **more: object) -> None:
        file, line = gauge.place.split(":")
        identity = {
            "kind": kind,
            "lot": lot,
            "run": None,
            "direction": None,
            "source_id": file,
            "line": int(line),
            **more,
        }
        assert gauge.strength is not None and gauge.u_strength is not None
        found.setdefault(lot, []).append((identity, gauge.strength, gauge.u_strength))

    for move in by_hand.moves:
        gauge = by_hand.gauges[move["run"], move["dir"], move["lot"]]
        if gauge.strength is not None and move["part"] != "bottles":
            add("gauge", move["lot"], gauge, run=move["run"], direction=move["dir"], gauged_at=by_hand.when(move))
    for row in read("dips.csv"):
        add("dip", row["lot"], by_hand.dips[row["lot"]], gauged_at=utc(row["dipped"]))
    for lot, name, file in (("NS-B1", "received", "intake.csv"), ("OLD-1", "counted", "opening.csv")):
        (row,) = (row for row in read(file) if row["lot"] == lot)
        add("opening", lot, by_hand.openings[lot], gauged_at=utc(row[name]))
    for row in laboratory_by_hand():
        if row["analyte"] == "strength":
            gauge = Gauge(f"{row['source_id']}:{row['line']}", strength=row["value"], u_strength=row["u_value"])
            add("laboratory", row["lot"], gauge, gauged_at=row["measured_at"])
    return found


@expect(
    "derived.strength_checks",
    "kind",
    "lot",
    "run",
    "direction",
    loose={"z": 2e-3, "u_mean_strength_pct_vol": 2e-3, "mean_strength_pct_vol": 1e-5, "u_strength_pct_vol": 2e-3},
)
def test_strength_checks(by_hand: BookByHand) -> list[Row]:
    """Mean of a lot's readings weighted by 1 / u^2, and how far each lies from it in its own uncertainty
    (measurement test): BLEND-1: 81.4424 +- 0.1979 and 81.3 +- 0.12: mean 81.3383 +- 0.1026, z = (81.4424 -
    81.3383) / sqrt(0.1979^2 - 0.1026^2) = 0.615 for both. The dip of NS-1, 95.8 +- 0.12 beside 96.24: 3.65. A lot
    read once cannot be checked."""
    rows = []
    for readings in strengths(by_hand).values():
        weights = [1.0 / u**2 for _, _, u in readings]
        mean = sum(w * x for w, (_, x, _) in zip(weights, readings, strict=True)) / sum(weights)
        u_mean = sqrt(1.0 / sum(weights))
        alone = len(readings) == 1
        for identity, strength, u in readings:
            z = None if alone else abs(strength - mean) / sqrt(u**2 - u_mean**2)
            row = {
                **identity, "strength_pct_vol": strength, "u_strength_pct_vol": u, "mean_strength_pct_vol": mean,
                "u_mean_strength_pct_vol": u_mean, "readings": len(readings), "z": z,
            }  # fmt: skip
            # suspect beyond 4.5: at 5 % over some 7,000 readings (Sidak), 1 - 0.95^(1/7000), two-sided, is 4.48
            row["verdict"] = "cannot be checked" if z is None else "agrees" if z < 4.5 else "suspect"
            rows.append(row)
    return rows
