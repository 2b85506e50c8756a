"""Losses that are usual, and when they stop being so; the scatter of a month. Of fourteen runs on one still.

The losses are 2.1, 1.7, 2.4, 1.9, 2.6, 1.8, 2.2, 2.0, 2.3, 1.6, 7.9, 8.6, 8.2, 8.8 LPA of charges of some 100; as
fractions, sorted, the seventh is 0.021893 and the eighth 0.022054: median 0.021974.
"""

from datetime import UTC, datetime, timedelta
from math import sqrt
from statistics import mean, median
from zoneinfo import ZoneInfo

import duckdb
import pytest

from tests.oracle.expectation import Row, agree, covers, day, in_book
from tests.oracle.series_by_hand import STANDING, Strip, strips

covers("derived.usual_losses", "of_what", "kind", "number", "fraction", "scatter")
covers("derived.loss_signals", "stage", "equipment", "first_run", "first_at", "signal_run", "signal_at", "week",
"last_run", "last_at",
       "runs", "excess_l", "u_excess_l")  # fmt: skip
covers("derived.curve_findings", "run", "equipment", "tag", "kind", "from_at", "to_at", "size", "detail")
FRACTIONS = [strip.loss / strip.charge for strip in strips()]
USUAL = median(FRACTIONS)
# half of the runs lie within the median absolute deviation; of a normal scatter that is 0.6745 of its standard
# deviation
SCATTER = median(abs(fraction - USUAL) for fraction in FRACTIONS) * 1.4826


def utc(local: datetime) -> datetime:
    """Copenhagen's clock to UTC: one hour until 29 March, two after it."""
    return local.replace(tzinfo=ZoneInfo("Europe/Copenhagen")).astimezone(UTC).replace(tzinfo=None)


def ended(strip: Strip) -> datetime:
    """End of a run, UTC."""
    return utc(strip.started) + timedelta(hours=5, minutes=30)


def test_usual_losses(series_book: duckdb.DuckDBPyConnection) -> None:
    """Median 2.197 %; scatter 1.4826 x the median absolute deviation 0.3661 % = 0.543 %, which four runs gone
    wrong hardly move."""
    assert (round(USUAL, 6), round(SCATTER, 5)) == (0.021974, 0.00543)
    agree(series_book, "derived.usual_losses", ("of_what", "kind"), [
        {"of_what": "run", "kind": "strip", "number": 14, "fraction": USUAL, "scatter": SCATTER}], {},
        "true")  # fmt: skip


def test_usual_loss_of_a_run(series_book: duckdb.DuckDBPyConnection) -> None:
    """In each run's verdict: the usual part of its charge, 97.97 x 0.021974 = 2.153 +- 0.532 LPA for the first.
    Each loses: even 1.6 LPA is five times what the gauges could have missed (0.3 % of the wash by its strength,
    0.1 % by its volume)."""
    rows: list[Row] = [
        {
            "run": strip.name, "usual_loss_l": USUAL * strip.charge, "u_usual_loss_l": SCATTER * strip.charge,
            "loss_l": strip.loss,
            "alcohol_in_l": strip.charge, "alcohol_out_l": strip.charge - strip.loss, "verdict": "loses",
        }
        for strip in strips()
    ]  # fmt: skip
    agree(series_book, "derived.run_verdicts", ("run",), rows, {}, "stage = 'strip'")


def test_loss_signals(series_book: duckdb.DuckDBPyConnection) -> None:
    """The rise begins with the eleventh run, ten of its own scatter above the usual, so it is significant at once,
    in ISO week 16. Beyond the usual: 7.9 + 8.6 + 8.2 + 8.8 = 33.5 less 0.021974 x 408.27 = 8.971: 24.528 LPA;
    uncertainty: the scatter of four runs, the root of 0.539^2 + 0.573^2 + 0.559^2 + 0.545^2 = 1.108."""
    wrong = strips()[10:]
    excess = sum(strip.loss - USUAL * strip.charge for strip in wrong)
    assert excess == pytest.approx(24.528, abs=0.001)
    agree(series_book, "derived.loss_signals", ("stage", "equipment"), [{
        "stage": "strip", "equipment": "S1", "first_run": "STR-11", "first_at": ended(wrong[0]), "signal_run": "STR-11",
        "signal_at": ended(wrong[0]), "week": "2026-W16", "last_run": "STR-14", "last_at": ended(wrong[-1]), "runs": 4,
        "excess_l": excess, "u_excess_l": sqrt(sum((SCATTER * strip.charge) ** 2 for strip in wrong)),
    }], {}, "true")  # fmt: skip


def test_months(series_book: duckdb.DuckDBPyConnection) -> None:
    """March, seven runs: (712.271 - 14.701) / 712.271 = 0.97936, a ratio of sums. Its uncertainty from run to run:
    the root of the sum of (out - ratio x in)^2 over n (n - 1), over the mean charge (Cochran, Sampling Techniques,
    1977, 2.11; from memory)."""
    rows: list[Row] = []
    for month, some in (("2026-03-01", strips()[:7]), ("2026-04-01", strips()[7:])):
        charge, out = sum(s.charge for s in some), sum(s.charge - s.loss for s in some)
        ratio = out / charge
        squares = sum((s.charge - s.loss - ratio * s.charge) ** 2 for s in some)
        u = sqrt(squares / (7 * 6)) / mean(s.charge for s in some)
        rows += [
            {
                "month": day(month), "measure": measure, "equipment": equipment, "numerator": out,
                "denominator": charge, "ratio": ratio,
                "u_ratio": u, "runs": 7, "runs_left_out": 0,
            }
            for measure in ("strip_recovery", "strip_closure")
            for equipment in (None, "S1")
        ]  # fmt: skip
    agree(series_book, "derived.monthly", ("month", "measure", "equipment"), rows, {}, "true")


def test_finding_of_a_thermometer_that_stands(series_book: duckdb.DuckDBPyConnection) -> None:
    """The pot's thermometer says 93.85 °C from minute 130 to 200, while the pot went on to 96.2; nothing else is
    found."""
    start = utc(strips()[2].started)
    agree(series_book, "derived.curve_findings", ("run", "tag", "kind"), [{
        "run": "STR-03", "equipment": "S1", "tag": "pot_temperature_c", "kind": "stuck",
        "from_at": start + timedelta(minutes=STANDING[0]),
        "to_at": start + timedelta(minutes=STANDING[1]), "size": 70.0, "detail": "93.85 for 70 min",
    }], {}, "true")  # fmt: skip
    (curve,) = in_book(series_book, "derived.run_curves")
    assert not curve["good"]  # with a finding it may stand in no band


def test_a_lot_drawn_beyond_what_it_held(series_book: duckdb.DuckDBPyConnection) -> None:
    """400 L of water came, 431 L were drawn: what is left is -31 L, and its uncertainty that of both, 0.1 % each:
    the root of 0.400^2 and 0.431^2 is 0.588 L. Beyond what can be doubted: 31 - 2 x 0.588 = 29.824 L."""
    (lot,) = in_book(series_book, "derived.lots", "lot = 'WAT-9'")
    u = sqrt(0.400**2 + 0.431**2)
    assert (lot["quantity_in"], lot["quantity_out"], lot["remaining"]) == pytest.approx((400.0, 431.0, -31.0))
    assert lot["u_remaining"] == pytest.approx(u, rel=1e-3)
    assert lot["overdraw"] == pytest.approx(31.0 - 2.0 * u, rel=1e-4)


def test_years_of_working_clocks(series_book: duckdb.DuckDBPyConnection) -> None:
    """A time from 1990 to the end of 2100 is taken; the last hour of 1989 and the second day of 2101 are of no
    working clock: such rows are refused, each for its own column."""
    held = in_book(series_book, "typed.calibrations")
    assert [(row["instrument"], row["due_at"].year) for row in held] == [("TH-1", 2100)]
    refused = in_book(series_book, "typed.refused")
    assert {(row["line"], row["column_name"]) for row in refused} == {(3, "checked"), (4, "due")}
