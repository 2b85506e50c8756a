"""Reconciliation (Narasimhan and Jordache, 2000): NS-1 alone is gauged on all sides: made, drawn, dipped at the
month's end.

r = 218.1265 - 61.7578 - 154.4738 = 1.8949 LPA with u(r) = 0.91384 from the errors of the three (N1 and "any % vol"
are in two): chi-square (1.8949 / 0.91384)^2 = 4.2996 on one degree against 3.8415 (5 %). z = 2.0736 for all three,
since one balance cannot tell them apart; limit for three at 5 % (Sidak) 2.3877. An error of (2.3877 + 0.8416) x
0.91384 = 2.9511 LPA would be found with 80 %.
"""

from math import sqrt
from statistics import NormalDist

import pytest

from tests.oracle.book_by_hand import BookByHand
from tests.oracle.expectation import Row, expect, in_book
from tests.oracle.house_by_hand import Gauge, read, utc
from tests.oracle.test_lots import Lot
from tests.oracle.test_runs import WITH_ALCOHOL, less, root, sides, uncertainties

NORMAL = NormalDist()
Z_CRITICAL = NORMAL.inv_cdf(1.0 - (1.0 - 0.95 ** (1.0 / 3.0)) / 2.0)  # 2.3877
CHI_SQUARE_1_5_PCT = NORMAL.inv_cdf(0.975) ** 2  # of one degree: 1.95996^2 = 3.8415


def errors(gauge: Gauge) -> dict[str, float]:
    """Its errors' effects on alcohol."""
    return {name: alcohol for name, (_, alcohol) in gauge.errors.items()}


class Balance:
    """The balance of NS-1 and what it makes of its three gauges."""

    def __init__(self, by_hand: BookByHand) -> None:
        self.signed = {
            ("REC-1", "out"): (1.0, by_hand.gauges["REC-1", "out", "NS-1"]),
            ("BLE-1", "in"): (-1.0, by_hand.gauges["BLE-1", "in", "NS-1"]),
            ("dip", ""): (-1.0, by_hand.dips["NS-1"]),
        }
        self.residual = sum(sign * (gauge.alcohol or 0.0) for sign, gauge in self.signed.values())
        self.d_residual: dict[str, float] = {}
        for sign, gauge in self.signed.values():
            self.d_residual = less(self.d_residual, errors(gauge), -sign)
        self.u = root(self.d_residual)

    def reconciled(self, which: tuple[str, str]) -> tuple[float, dict[str, float]]:
        """Measured less cov(gauge, r) / var(r) x r, and its errors: those of the gauge less the same part of those
        of r."""
        _, gauge = self.signed[which]
        own = errors(gauge)
        part = sum(effect * self.d_residual[name] for name, effect in own.items()) / self.u**2
        return (gauge.alcohol or 0.0) - part * self.residual, less(own, self.d_residual, part)


@expect("derived.networks", "network", loose={"chi_square": 1e-4, "chi_square_after": 1e-4})
def test_networks(by_hand: BookByHand) -> list[Row]:
    """One network of three streams and one balance; nothing was set aside, since no one of the three can be named."""
    balance = Balance(by_hand)
    chi_square = (balance.residual / balance.u) ** 2
    return [{
        "network": 0, "streams": 3, "degrees": 1, "chi_square": chi_square, "critical": CHI_SQUARE_1_5_PCT,
        "chi_square_after": chi_square, "set_aside": 0, "z_critical": Z_CRITICAL,
    }]  # fmt: skip


LEFT = ("DIST-1", "HRT-1", "PROOF-1", "WASH-1", "BLEND-1")


@expect(
    "derived.reconciled", "kind", "run", "direction", "lot",
    loose={"u_reconciled_l": 1e-4, "chi_square": 1e-4, "z": 1e-4, "reconciled_l": 1e-5, "detectable_l": 1e-4,
    "redundancy": 1e-3},
)  # fmt: skip
def test_reconciled(by_hand: BookByHand) -> list[Row]:
    """NS-1 made: 218.1265 less its part of 1.8949 = 216.9185; 219 in the balance, its uncertainty falls from 0.740
    to 0.457, so 61.9 % of its variance is seen by the others. Gauges outside stay as measured and cannot be
    checked. What was not measured is worked out: BLE-1's loss with NS-1 reconciled, 152.2453 + 61.9272 - 213.1938
    = 0.9787; what is left of a lot, in less out."""
    balance, rows = Balance(by_hand), []
    nothing = dict.fromkeys(("z", "detectable_l", "alike", "network"))

    def row(kind: str, **columns: object) -> None:
        empty = dict.fromkeys((
            "run", "direction", "lot", "part", "gauged_at", "measured_l", "u_measured_l", "reconciled_l",
            "u_reconciled_l",
            "redundancy", "source_id", "line",
        ))  # fmt: skip
        rows.append({"kind": kind, **empty, **nothing, **columns})

    def gauged(kind: str, gauge: Gauge, which: tuple[str, str], **columns: object) -> None:
        file, line = gauge.place.split(":")
        where = {"source_id": file, "line": int(line), **columns}
        if gauge.alcohol is None:
            return row(kind, verdict="cannot be known", **where)
        measured = {"measured_l": gauge.alcohol, "u_measured_l": gauge.u_alcohol, **where}
        if which not in balance.signed or columns["lot"] != "NS-1":
            same = {"reconciled_l": gauge.alcohol, "u_reconciled_l": gauge.u_alcohol, "redundancy": 0.0}
            return row(kind, verdict="cannot be checked", **measured, **same)
        value, d_value = balance.reconciled(which)
        assert gauge.u_alcohol
        return row(
            kind, **measured, reconciled_l=value, u_reconciled_l=root(d_value), z=abs(balance.residual) / balance.u,
            redundancy=1.0 - (root(d_value) / gauge.u_alcohol) ** 2, verdict="agrees", alike=0, network=0,
            detectable_l=(Z_CRITICAL + NORMAL.inv_cdf(0.8)) * balance.u,
        )  # fmt: skip

    for move in by_hand.moves:
        gauge = by_hand.gauges[move["run"], move["dir"], move["lot"]]
        if gauge.alcohol != 0.0:
            names = {"run": move["run"], "direction": move["dir"], "lot": move["lot"], "part": move["part"]}
            gauged("gauge", gauge, (move["run"], move["dir"]), gauged_at=by_hand.when(move), **names)
    gauged("dip", by_hand.dips["NS-1"], ("dip", ""), lot="NS-1", gauged_at=utc("2026-03-31 16:10"))
    ended = {one["run"]: utc(one["ended"]) for one in read("runs.csv")}
    for run in WITH_ALCOHOL:
        into, out = sides(by_hand, run)
        at = {"run": run, "gauged_at": ended[run]}
        if run == "REC-1":
            row("loss", verdict="cannot be known", **at)
            continue
        loss = sum(g.alcohol or 0 for _, g in into) - sum(g.alcohol or 0 for _, g in out)
        u = uncertainties(by_hand, run)["u_loss_l"]
        if run == "BLE-1":  # its uncertainty: test_uncertainty_of_a_loss_beside_what_was_reconciled
            measured = by_hand.gauges["BLE-1", "in", "NS-1"]
            value, _ = balance.reconciled(("BLE-1", "in"))
            loss += value - (measured.alcohol or 0)
            row("loss", reconciled_l=loss, verdict="worked out", **at)
            del rows[-1]["u_reconciled_l"]
            continue
        row("loss", reconciled_l=loss, u_reconciled_l=u, verdict="worked out", **at)
    for lot in LEFT:
        of_lot = Lot(by_hand, lot)
        left = sum(g.alcohol or 0 for g in of_lot.came) - sum(g.alcohol or 0 for _, g in of_lot.drawn)
        at_end = {"gauged_at": utc("2026-03-24 10:00") if lot == "BLEND-1" else None}
        row("left", lot=lot, reconciled_l=left, u_reconciled_l=of_lot.effects(1)[2], verdict="worked out", **at_end)
    return rows


def test_uncertainty_of_a_loss_beside_what_was_reconciled(oracle_book, by_hand: BookByHand) -> None:
    """BLE-1's loss is DIST-1 + NS-1 (reconciled) - BLEND-1. NS-1 reconciled is 61.758 + 0.0894 r, and r holds the
    alcoholmeter and the thermometer that read DIST-1 and BLEND-1 too: their effects, added by error, give 1.0935
    LPA; with the covariance of NS-1 as it was measured it would be 1.0971."""
    (found,) = in_book(oracle_book, "derived.reconciled", "kind = 'loss' AND run = 'BLE-1'")
    _, d_value = Balance(by_hand).reconciled(("BLE-1", "in"))
    d_loss = less(d_value, errors(by_hand.gauges["BLE-1", "in", "DIST-1"]), -1.0)
    u = root(less(d_loss, errors(by_hand.gauges["BLE-1", "out", "BLEND-1"])))
    assert found["u_reconciled_l"] == pytest.approx(u, rel=1e-3)


def test_of_the_formula() -> None:
    """The numbers of this page: sqrt(3.8415) = 1.95996; 1 - 0.95^(1/3) = 0.016952."""
    assert round(sqrt(CHI_SQUARE_1_5_PCT), 5) == 1.95996
    assert round(1 - 0.95 ** (1 / 3), 6) == 0.016952
    assert round(Z_CRITICAL, 4) == 2.3877
