"""What was moved, dipped, received and opened with: volume, strength, alcohol and what each error gives to them.

The arithmetic, with a worked line of each sort, stands at `gauge_of` and `worked_out` in house_by_hand.py.
"""

from tests.oracle.book_by_hand import NO_STRENGTH, BookByHand
from tests.oracle.expectation import Row, expect
from tests.oracle.house_by_hand import Gauge, read, utc

# the slope of density at 41.57 % vol, by which a laboratory's density becomes strength, is worked out over 0.02 % vol
BY_SLOPE = {"u_strength_pct_vol": 2e-3, "u_alcohol_l": 5e-5, "alcohol_l": 2e-3}


def quantities(gauge: Gauge) -> Row:
    """The columns that every sort of gauge has."""
    file, line = gauge.place.split(":")
    known = gauge.alcohol is not None
    return {
        "gauge": gauge.place, "source_id": file, "line": int(line), "volume_l": gauge.volume,
        "u_volume_l": gauge.u_volume,
        "strength_pct_vol": gauge.strength, "u_strength_pct_vol": gauge.u_strength, "alcohol_l": gauge.alcohol,
        "u_alcohol_l": gauge.u_alcohol if known else None, "not_computed": None if known else NO_STRENGTH,
    }  # fmt: skip


def number(text: str) -> float | None:
    """A cell as a number."""
    return float(text) if text else None


@expect("derived.gauges", "run", "direction", "lot", loose={**BY_SLOPE, "alcohol_l": 2e-6})
def test_gauges(by_hand: BookByHand) -> list[Row]:
    """A movement is brought to 20 °C. DIST-1 into BLE-1: 199.0 L at 18.0 °C in steel are 199.367 L, 75.9 on glass
    at 18.5 °C is 76.364 % vol, 199.367 x 0.76364 = 152.245 LPA; GIN-A: 692 x 697.92 mL = 482.961 L x 41.57 % =
    200.767 LPA. REC-1-T was read without a strength: neither litres nor alcohol are known, and it says why."""
    runs = {row["run"]: row for row in read("runs.csv")}
    rows = []
    for move in by_hand.moves:
        gauge = by_hand.gauges[move["run"], move["dir"], move["lot"]]
        is_read, is_bottled = bool(move["S"]), move["part"] == "bottles"
        kind = move["read as"] if is_read else None
        rows.append({
            **quantities(gauge), "run": move["run"], "direction": move["dir"], "lot": move["lot"], "part": move["part"],
            "vessel": move["vessel"] or None, "gauged_at": by_hand.when(move), "stage": runs[move["run"]]["stage"],
            "equipment": runs[move["run"]]["equipment"], "mass_kg": gauge.mass,
            "pieces": 692.0 if is_bottled else number(move["pieces"]),
            "strength_reading": number(move["S"]), "reading_kind": kind,
            "reading_temperature_c": number(move["tS"]) if is_read else None,
            "strength_from": "laboratory" if is_bottled else kind,
            "strength_is": "true" if is_read or is_bottled else None,
        })  # fmt: skip
    return rows


@expect("derived.stock_gauges", "lot")
def test_dips(by_hand: BookByHand) -> list[Row]:
    """A dip is a gauge of a vessel at rest. NS-1: 161.0 L at 18.5 °C, 95.8 % vol: 161.246 L, 154.474 LPA. OLD-1
    lies in oak: what glass reads is apparent, and oak is taken not to grow with heat."""
    return [
        {
            **quantities(by_hand.dips[row["lot"]]), "vessel": row["vessel"], "lot": row["lot"],
            "gauged_at": utc(row["dipped"]), "strength_is": "apparent" if row["lot"] == "OLD-1" else "true",
        }
        for row in read("dips.csv")
    ]  # fmt: skip


@expect("derived.openings", "lot")
def test_openings(by_hand: BookByHand) -> list[Row]:
    """NS-B1 came as 304.0 L at 14.0 °C, 96.3 % vol: 305.857 L, 294.540 LPA. GIN-Z: 57 x 0.7 L x 41.5 % = 16.5585
    LPA, its strength as the label has it (0.3 either way, u = 0.3 / sqrt 3 = 0.1732). Malt carries no alcohol: 0,
    not NULL."""
    rows = []
    for row in [*read("intake.csv"), *read("opening.csv")]:
        gauge, delivered = by_hand.openings[row["lot"]], row["file"] == "intake.csv"
        bottled = row["kind"] == "bottled spirit"
        with_alcohol = row["kind"] in ("neutral spirit", "spirit", "bottled spirit")
        rows.append({
            **quantities(gauge), "lot": row["lot"], "origin": "received" if delivered else "opening",
            "kind": row["kind"],
            "material": row["material"], "vessel": row["vessel"] or None,
            "came_at": utc(row["received" if delivered else "counted"]), "carries_alcohol": with_alcohol,
            "mass_kg": gauge.mass, "pieces": number(row["pieces"]), "strength_reading": number(row["S"]),
            "strength_from": "label" if bottled else row["read as"] or None,
            "strength_is": None if not with_alcohol else "apparent" if row["lot"] == "OLD-1" else "true",
            "extract_pct": number(row.get("extract", "")), "moisture_pct": number(row.get("moisture", "")),
            "condition": row.get("condition") or None,
        })  # fmt: skip
    return rows


@expect("derived.gauge_errors", "gauge", "error", loose={"volume_l": 2e-4, "alcohol_l": 2e-3})
def test_errors(by_hand: BookByHand) -> list[Row]:
    """DIST-1 into BLE-1: of 0.2 % of 199.367 L 0.8 is the calibration of D1, 0.3190 L and, at 76.364 % vol, 0.2436
    LPA; the thermometer, 0.4 K x 0.8, makes volume and strength read too little when it is warm: -0.0587 L,
    -0.2417 LPA."""
    return [
        {"gauge": gauge.place, "error": error, "volume_l": volume, "alcohol_l": alcohol}
        for gauge in by_hand.every
        for error, (volume, alcohol) in gauge.errors.items()
    ]


@expect("derived.mass_errors", "gauge", "error", loose={"mass_kg": 5e-5})
def test_mass_errors(by_hand: BookByHand) -> list[Row]:
    """Of all that carries no alcohol; worked out at `weighed` and `with_mass`."""
    return [
        {"gauge": gauge.place, "error": error, "mass_kg": mass}
        for gauge in by_hand.every
        for error, mass in gauge.mass_errors.items()
    ]


@expect("derived.extracts", "lot")
def test_extracts(by_hand: BookByHand) -> list[Row]:
    """Wash and stillage may hold grain, the gin still's stillage botanicals, OLD-1 oak since it lay there.
    PROOF-1's extract was measured: 0.31 g/L, without a stated uncertainty."""
    nothing = {"extract_g_l": None, "u_extract_g_l": None}
    return [
        {"lot": "WASH-1", **nothing, "may_hold_from": "grain", "since_made": True},
        {"lot": "STR-1-S", **nothing, "may_hold_from": "grain", "since_made": True},
        {"lot": "BOT-1-S", **nothing, "may_hold_from": "botanical", "since_made": True},
        {"lot": "OLD-1", **nothing, "may_hold_from": "cask", "since_made": False},
        {"lot": "PROOF-1", "extract_g_l": 0.31, "u_extract_g_l": None, "may_hold_from": None, "since_made": False},
    ]
