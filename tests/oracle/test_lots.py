"""Lots: what came in, what was drawn, what is left; where the alcohol of the batch came from, and what stands behind
it.

DIST-1: made 154.108 LPA, drawn 152.245, left 1.863. GIN-A draws all of PROOF-1, that all of BLEND-1; of BLEND-1's
charge DIST-1 is 152.245 / (152.245 + 61.758) = 0.71142 and NS-1 0.28858. So 71.1 % of the batch's alcohol is of
bought-in spirit (NS-B1), 28.9 % of the house's own grain.
"""

from datetime import datetime
from functools import cached_property
from math import hypot, sqrt

import pytest

from tests.oracle.book_by_hand import NO_STRENGTH, BookByHand
from tests.oracle.expectation import Row, expect, in_book
from tests.oracle.house_by_hand import Gauge, read, utc

KG_LOTS = ("RYE-1", "OAT-1", "JUN-1", "COR-1", "LEM-1")
BALANCE = 0.002  # u of a weighing, as a part of it


class Lot:
    """What came in and what was drawn of one lot."""

    def __init__(self, by_hand: BookByHand, lot: str) -> None:
        self.lot = lot
        self.made = [
            (m, by_hand.gauges[m["run"], m["dir"], lot]) for m in by_hand.moves if m["lot"] == lot and m["dir"] == "out"
        ]
        self.drawn = [
            (m, by_hand.gauges[m["run"], m["dir"], lot]) for m in by_hand.moves if m["lot"] == lot and m["dir"] == "in"
        ]
        self.opened = by_hand.openings.get(lot)

    @cached_property
    def came(self) -> list[Gauge]:
        """Gauges of what came in."""
        return [gauge for _, gauge in self.made] + ([self.opened] if self.opened else [])

    @cached_property
    def basis(self) -> str:
        """What it is counted in."""
        if self.lot == "GLS-1":
            return "pieces"
        if self.lot in KG_LOTS:
            return "kg"
        return "L" if self.lot in ("WAT-1", "WORT-1") else "LPA"

    def effects(self, which: int) -> tuple[float, float, float]:
        """Uncertainty in, out and of the rest, in volume (0), alcohol (1) or mass (2): errors that both carry partly
        cancel."""
        into: dict[str, float] = {}
        out: dict[str, float] = {}
        for gauges, total in ((self.came, into), ([g for _, g in self.drawn], out)):
            for gauge in gauges:
                effects = gauge.mass_errors if which == 2 else {e: both[which] for e, both in gauge.errors.items()}
                for error, effect in effects.items():
                    total[error] = total.get(error, 0.0) + effect
        rest = {name: into.get(name, 0.0) - out.get(name, 0.0) for name in {**into, **out}}
        return tuple(sqrt(sum(v**2 for v in part.values())) for part in (into, out, rest))  # type: ignore[return-value]


LOTS = (
    "RYE-1", "OAT-1", "WAT-1", "NS-B1", "JUN-1", "COR-1", "LEM-1", "GLS-1", "OLD-1", "GIN-Z", "WORT-1", "WASH-1",
    "STR-1-H",
    "HRT-1", "STR-1-T", "STR-1-S", "REC-1-H", "NS-1", "REC-1-T", "REC-1-S", "BOT-1-H", "DIST-1", "BOT-1-T", "BOT-1-S",
    "BLEND-1", "PROOF-1", "GIN-A",
)  # fmt: skip
GAUGED = [lot for lot in LOTS if lot not in ("GLS-1", "REC-1-T")]


@expect("derived.lot_uncertainties", "lot", loose=dict.fromkeys(("u_volume_in_l", "u_alcohol_in_l"), 1e-4))
def test_uncertainties_of_lots(by_hand: BookByHand) -> list[Row]:
    """HRT-1 in and out of H1 by DM-1: each error in less out. Its vessel: 0.3 % x 0.8 x (357.79 - 353.09) L =
    0.011, not the root of 0.859^2 + 0.847^2; what is left is the two single readings."""
    names = ("in_l", "out_l", "remaining_l")
    return [
        {
            "lot": lot,
            **{f"u_volume_{name}": u for name, u in zip(names, Lot(by_hand, lot).effects(0), strict=True)},
            **{f"u_alcohol_{name}": u for name, u in zip(names, Lot(by_hand, lot).effects(1), strict=True)},
            **dict(
                zip(("u_mass_in_kg", "u_mass_out_kg", "u_mass_remaining_kg"), Lot(by_hand, lot).effects(2), strict=True)
            ),
        }
        for lot in GAUGED
    ]


def quantities(lot: Lot) -> Row:
    """In, out, left and beyond what it held, in what it is counted in."""
    if lot.basis == "pieces":
        return _row(910.0, 0.0, 703.0, 0.0, 0.0)  # 910 - 703 = 207 bottles; a count has no uncertainty
    if lot.basis == "kg":
        into, out = sum(g.mass or 0.0 for g in lot.came), sum(g.mass or 0.0 for _, g in lot.drawn)
        return _row(into, lot.effects(2)[0], out, *lot.effects(2)[1:])
    which = 0 if lot.basis == "L" else 1
    into, out = (
        sum((g.volume if which == 0 else g.alcohol) or 0.0 for g in side)
        for side in (lot.came, [g for _, g in lot.drawn])
    )
    return _row(into, lot.effects(which)[0], out, *lot.effects(which)[1:])


def _row(into: float, u_in: float, out: float, u_out: float, u_rest: float) -> Row:
    """Overdraw is what was drawn beyond the lot, less twice the uncertainty of the rest."""
    return {
        "quantity_in": into, "u_quantity_in": u_in, "quantity_out": out, "u_quantity_out": u_out,
        "remaining": into - out,
        "u_remaining": u_rest, "overdraw": max(0.0, out - into - 2.0 * u_rest),
    }  # fmt: skip


@expect("derived.lots", "lot", loose={"u_quantity_in": 1e-4})
def test_lots(by_hand: BookByHand) -> list[Row]:
    """Spirit is counted in LPA, water and wort in litres, goods by weight, bottles by number. WAT-1: 5200 L less
    2153.014, 205.277 and 254.329 leaves 2587.380 L. REC-1-T was not gauged whole: how much it is is NULL, and so
    is its overdraw."""
    rows = []
    intake = {row["lot"]: row for row in [*read("intake.csv"), *read("opening.csv")]}
    for name in LOTS:
        lot = Lot(by_hand, name)
        known = name != "REC-1-T"
        row: Row = {
            "lot": name,
            "origins": 1,
            "basis": lot.basis,
            "draws_not_gauged": 0,
            "drawn_by_runs": len(lot.drawn),
        }
        if lot.made:
            ((move, _),) = lot.made
            row |= {
                "origin": "produced",
                "material": move["part"],
                "made_by_run": move["run"],
                "made_at": by_hand.when(move),
            }
        else:
            source = intake[name]
            delivered = source["file"] == "intake.csv"
            row |= {
                "origin": "received" if delivered else "opening", "material": source["material"], "made_by_run": None,
                "made_at": utc(source["received" if delivered else "counted"]),
            }  # fmt: skip
        row |= quantities(lot) if known else {
            "quantity_in": None, "u_quantity_in": None, "quantity_out": 0.0, "u_quantity_out": 0.0, "remaining": None,
            "u_remaining": None, "overdraw": None,
        }  # fmt: skip
        rows.append({**row, "not_computed": None if known else NO_STRENGTH})
    return rows


@pytest.mark.parametrize(("lot", "came_kg"), [("JUN-1", 11.5), ("COR-1", 5.2), ("LEM-1", 3.1)])
def test_goods_carry_the_uncertainty_of_their_balance(oracle_book, lot: str, came_kg: float) -> None:
    """BAL-1 weighed what was drawn, and its u is 0.003 kg: so of the lemon peel 0.560 +- 0.003 kg, not 0.2 % or
    0.00112 kg. What is left: the root of 0.003 squared and that of the delivery (0.2 % of 3.1 kg = 0.0062 kg)
    squared, 0.00689 kg."""
    (row,) = in_book(oracle_book, "derived.lots", f"lot = '{lot}'")
    assert row["u_quantity_out"] == pytest.approx(0.003)
    assert row["u_remaining"] == pytest.approx(hypot(0.003, BALANCE * came_kg))


@pytest.mark.parametrize("lot", KG_LOTS)
def test_two_weighings_add_up_by_squares(oracle_book, lot: str) -> None:
    """Errors of two weighings are independent or partly cancel; at no time do their uncertainties add up plainly.
    RYE-1: 0.2 % of 655 and of 610 kg, 1.31 and 1.22: together 1.79 kg at most, not 2.53."""
    (row,) = in_book(oracle_book, "derived.lots", f"lot = '{lot}'")
    assert 0.0 < row["u_remaining"] <= hypot(row["u_quantity_in"], row["u_quantity_out"]) * 1.000001


def test_what_is_not_known_has_no_uncertainty(oracle_book) -> None:
    """Nobody knows what is left of REC-1-T, so nobody is sure of it to 0.000 LPA: missing is NULL, never zero."""
    (row,) = in_book(oracle_book, "derived.lots", "lot = 'REC-1-T'")
    assert (row["remaining"], row["u_remaining"]) == (None, None)


@expect("derived.used_up_lots", "lot")
def test_used_up_lots(by_hand: BookByHand) -> list[Row]:
    """BLEND-1 was used up when P1 took PROOF-1: 213.194 LPA made less 210.559 drawn leaves 2.634."""
    left = by_hand.gauges["BLE-1", "out", "BLEND-1"].alcohol - by_hand.gauges["RED-1", "in", "BLEND-1"].alcohol  # type: ignore
    at = datetime(2026, 3, 24, 9)
    return [
        {"lot": "BLEND-1", "vessel": "P1", "emptied_at": at, "evidence": "its vessel took another lot", "left_l": left}
    ]


# Who made what of what: run, its stage, what it drew, what it made of which the batch has some, what else it made.
CHAIN = (
    ("PAK-1", "bottle", ("PROOF-1", "GLS-1"), "GIN-A", ()),
    ("RED-1", "reduce", ("BLEND-1", "WAT-1"), "PROOF-1", ()),
    ("BLE-1", "blend", ("DIST-1", "NS-1"), "BLEND-1", ()),
    ("BOT-1", "botanical", ("NS-B1", "WAT-1", "JUN-1", "COR-1", "LEM-1"), "DIST-1", ("BOT-1-H", "BOT-1-T", "BOT-1-S")),
    ("REC-1", "rectify", ("HRT-1",), "NS-1", ("REC-1-H", "REC-1-T", "REC-1-S")),
    ("STR-1", "strip", ("WASH-1",), "HRT-1", ("STR-1-H", "STR-1-T", "STR-1-S")),
    ("FER-1", "ferment", ("WORT-1",), "WASH-1", ()),
    ("MSH-1", "mash", ("RYE-1", "OAT-1", "WAT-1"), "WORT-1", ()),
)  # fmt: skip
DEPTH = {"PAK-1": 1, "RED-1": 2, "BLE-1": 3, "BOT-1": 4, "REC-1": 4, "STR-1": 5, "FER-1": 6, "MSH-1": 7}
RANK = {
    "WORT-1": 1, "WASH-1": 2, "HRT-1": 3, "STR-1-H": 3, "STR-1-T": 3, "STR-1-S": 3, "NS-1": 4, "REC-1-H": 4,
    "REC-1-T": 4,
    "REC-1-S": 4, "DIST-1": 1, "BOT-1-H": 1, "BOT-1-T": 1, "BOT-1-S": 1, "BLEND-1": 5, "PROOF-1": 6, "GIN-A": 7,
}  # fmt: skip


def amount(by_hand: BookByHand, run: str, lot: str) -> float | None:
    """Drawn of a lot by a run, in what the lot is counted in."""
    gauge, basis = by_hand.gauges[run, "in", lot], Lot(by_hand, lot).basis
    return {"LPA": gauge.alcohol, "kg": gauge.mass, "L": gauge.volume, "pieces": 703.0}[basis]


def shares(by_hand: BookByHand) -> dict[tuple[str, str], float]:
    """Of what a run made, the part that is of each lot it drew: by alcohol; of a mash by weight of its grain."""
    dist, ns = (by_hand.gauges["BLE-1", "in", lot].alcohol for lot in ("DIST-1", "NS-1"))
    assert dist and ns
    return {
        ("PAK-1", "PROOF-1"): 1.0, ("RED-1", "BLEND-1"): 1.0, ("BLE-1", "DIST-1"): dist / (dist + ns),
        ("BLE-1", "NS-1"): ns / (dist + ns), ("BOT-1", "NS-B1"): 1.0, ("REC-1", "HRT-1"): 1.0, ("STR-1", "WASH-1"): 1.0,
        ("FER-1", "WORT-1"): 1.0, ("MSH-1", "RYE-1"): 610.0 / 762.0, ("MSH-1", "OAT-1"): 152.0 / 762.0,
    }  # fmt: skip


def made(by_hand: BookByHand, run: str, lot: str) -> float:
    """What the run made of the lot that it was for: LPA, of a mash litres."""
    gauge = by_hand.gauges[run, "out", lot]
    return (gauge.volume if run == "MSH-1" else gauge.alcohol) or 0.0


@expect("derived.steps", "run", "lot", "into_lot")
def test_steps(by_hand: BookByHand) -> list[Row]:
    """Losses and by-products go with what a run was for: DIST-1's 154.108 LPA stand for all 175.191 of NS-B1
    drawn, 1.13680 a litre. Ranks: goods 0; WORT-1 1, WASH-1 2, HRT-1 3, NS-1 4; DIST-1 1; BLEND-1 above both, 5."""
    rows = []
    for run, stage, drawn, main, besides in CHAIN:
        for lot in drawn:
            quantity = amount(by_hand, run, lot)
            per_unit = None if quantity is None else quantity / made(by_hand, run, main)
            rows += [
                {
                    "run": run, "stage": stage, "lot": lot, "into_lot": into, "share": shares(by_hand).get((run, lot)),
                    "quantity": quantity, "basis": Lot(by_hand, lot).basis, "per_unit": per_unit,
                    "lot_rank": RANK.get(lot, 0), "into_rank": RANK[into],
                }
                for into in (main, *besides)
            ]  # fmt: skip
    return rows


def behind(by_hand: BookByHand) -> dict[str, float]:
    """Of each made lot, what stands behind the whole batch: each step back multiplies what was drawn by the part
    of what the run made that the batch took. PROOF-1 207.307 (bottled all); BLEND-1 210.559 x 207.307 / 209.040 =
    208.814 ..."""
    taken = {"GIN-A": made(by_hand, "PAK-1", "GIN-A")}
    for run, _, drawn, main, _ in CHAIN:
        for lot in drawn:
            quantity = amount(by_hand, run, lot)
            if quantity is not None and lot in RANK:
                taken[lot] = quantity * taken[main] / made(by_hand, run, main)
    return taken


@expect("derived.lineage", "run", "lot")
def test_lineage(by_hand: BookByHand) -> list[Row]:
    """Of NS-1 the blend took 61.758 of 218.127 LPA, so of the 248.324 LPA of HRT-1 rectified 68.9 stand behind the
    batch; of 610 kg of rye 166.07. RYE-1's share: 0.28858 x 610 / 762 = 0.23102. Water carries none."""
    part, taken, rows = shares(by_hand), behind(by_hand), []
    passed: dict[str, float] = {"GIN-A": 1.0}
    for run, stage, drawn, main, _ in CHAIN:
        for lot in drawn:
            quantity = amount(by_hand, run, lot)
            if (run, lot) in part:
                passed[lot] = passed[main] * part[run, lot]
            rows.append({
                "batch": "GIN-A", "run": run, "stage": stage, "lot": lot, "into_lot": main, "depth": DEPTH[run],
                "share": passed[lot] if (run, lot) in part else None, "quantity": quantity, "basis": Lot(by_hand,
                lot).basis,
                "consumed": None if quantity is None else quantity * taken[main] / made(by_hand, run, main),
            })  # fmt: skip
    return rows


def test_packaging_of_the_batch(oracle_book) -> None:
    """PAK-1 drew 703 bottles of GLS-1, all of them for GIN-A; lineage counts in pieces what is counted in pieces."""
    (row,) = in_book(oracle_book, "derived.lineage", "lot = 'GLS-1'")
    assert (row["quantity"], row["basis"], row["consumed"]) == (703.0, "pieces", 703.0)


@expect("derived.ancestor_runs", "batch", "run")
def test_ancestor_runs(by_hand: BookByHand) -> list[Row]:
    """Every run stands behind GIN-A."""
    return [{"batch": "GIN-A", "run": run} for run in DEPTH]


@expect("derived.ancestor_lots", "batch", "lot")
def test_ancestor_lots(by_hand: BookByHand) -> list[Row]:
    """All lots but what runs made beside (heads, tails, spent) and what was never drawn (OLD-1, GIN-Z); GIN-A
    itself too."""
    beside = {"OLD-1", "GIN-Z"} | {lot for *_, besides in CHAIN for lot in besides}
    return [{"batch": "GIN-A", "lot": lot} for lot in LOTS if lot not in beside]


def expected_extract_kg() -> float:
    """Extract on dry matter: 610 x (1 - 0.052) x 0.785 + 152 x (1 - 0.061) x 0.694 = 453.950 + 99.053 = 553.003 kg."""
    return 610 * (1 - 0.052) * 0.785 + 152 * (1 - 0.061) * 0.694


@expect("derived.batch_yields", "batch")
def test_batch_yields(by_hand: BookByHand) -> list[Row]:
    """Grain behind the batch: 762 kg x 68.9 / 248.3 and so on = 207.45 kg; predicted alcohol in the same part of
    281.50 LPA. Of the 200.767 LPA bottled 71.1 % were bought in and have no grain: 57.938 LPA are the house's own,
    0.756 of the 76.638 predicted and 279.28 L a tonne."""
    fraction = behind(by_hand)["WASH-1"] / made(by_hand, "FER-1", "WASH-1")
    grain = 762.0 * fraction
    predicted = (
        expected_extract_kg() * 0.84 * 0.606 * fraction
    )  # 6.06 L a tonne for each per cent: Bringhurst et al. (1996)
    bottled = made(by_hand, "PAK-1", "GIN-A")
    own, bought, opening, _ = origins(by_hand)["GIN-A"]
    days = (datetime(2026, 3, 26, 14) - datetime(2026, 3, 2, 6)).total_seconds() / 86400  # from the mash's start: 24.33
    return [{
        "batch": "GIN-A", "grain_kg": grain, "predicted_alcohol_l": predicted, "alcohol_bottled_l": bottled,
        "own_share": own, "bought_share": bought, "opening_share": opening, "own_alcohol_l": bottled * own,
        "yield_l_per_t": bottled * own / grain * 1000.0, "grain_to_bottle": bottled * own / predicted,
        "days_grain_to_bottle": days,
    }]  # fmt: skip


def origins(by_hand: BookByHand) -> dict[str, tuple[float, float, float, float]]:
    """Of each lot with alcohol the parts that were fermented here, bought, and there at the beginning; kg of grain a
    litre. WASH-1: 762 / 277.231 = 2.7486 kg; all of NS-B1 bought, OLD-1 and GIN-Z of the opening inventory. What a run
    made is of its charges by their alcohol: BLEND-1 0.28858 own, 0.71142 bought."""
    known = {
        "WASH-1": (1.0, 0.0, 0.0, 762.0 / made(by_hand, "FER-1", "WASH-1")), "NS-B1": (0.0, 1.0, 0.0, 0.0),
        "OLD-1": (0.0, 0.0, 1.0, 0.0), "GIN-Z": (0.0, 0.0, 1.0, 0.0),
    }  # fmt: skip
    for run, stage, drawn, main, besides in reversed(CHAIN):
        if stage in ("mash", "ferment"):
            continue
        of_run = [
            (known[lot], shares(by_hand)[run, lot], (amount(by_hand, run, lot) or 0.0) / made(by_hand, run, main))
            for lot in drawn if lot in known
        ]  # fmt: skip
        own, bought, opening = (sum(part * origin[n] for origin, part, _ in of_run) for n in range(3))
        kg = sum(a_litre * origin[3] for origin, _, a_litre in of_run)
        known |= dict.fromkeys((main, *besides), (own, bought, opening, kg))
    return known


@expect("derived.lot_origins", "lot")
def test_lot_origins(by_hand: BookByHand) -> list[Row]:
    """Spent wash and heads are of what their run was charged with, as its product is."""
    names = ("own_share", "bought_share", "opening_share", "material_kg_per_l")
    return [{"lot": lot, **dict(zip(names, values, strict=True))} for lot, values in origins(by_hand).items()]


@expect("derived.batch_bill", "batch", "lot")
def test_batch_bill(by_hand: BookByHand) -> list[Row]:
    """Of 610 kg of rye 166.07 stand behind the batch and of 152 kg of oats 41.38; NS-B1 is 71.1 % of its alcohol and
    came with 96.3 % vol. Rye predicts 453.950 x 0.84 x 0.606 = 231.08 LPA, oats 50.42."""
    fraction = behind(by_hand)["WASH-1"] / made(by_hand, "FER-1", "WASH-1")
    grain = {"RYE-1": (610.0, "rye malt", 610 * 0.948 * 0.785), "OAT-1": (152.0, "oat malt", 152 * 0.939 * 0.694)}
    none = dict.fromkeys(("basis", "mass_kg", "share", "predicted_alcohol_l", "predicted_share", "not_known"))
    fermented = [
        {
            **none, "batch": "GIN-A", "lot": lot, "material": material, "kind": "malt", "origin": "fermented",
            "basis": "extract", "mass_kg": kg * fraction, "share": kg / 762.0,
            "predicted_alcohol_l": extract * 0.84 * 0.606 * fraction,
            "predicted_share": extract / expected_extract_kg(), "alcohol_share": None, "strength_pct_vol": None,
        }
        for lot, (kg, material, extract) in grain.items()
    ]  # fmt: skip
    bought = {
        **none, "batch": "GIN-A", "lot": "NS-B1", "material": "neutral spirit", "kind": "neutral spirit",
        "origin": "bought", "alcohol_share": origins(by_hand)["GIN-A"][1], "strength_pct_vol": 96.3,
    }  # fmt: skip
    return [*fermented, bought]
