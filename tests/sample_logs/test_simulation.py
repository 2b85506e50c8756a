from collections import defaultdict
from datetime import timedelta

import pytest

from sample_logs.generator.mixing import Liquid


def _sum(parts):
    return sum((liquid for _, liquid in parts), Liquid())


def test_every_working_conserves_mass(house):
    """Ethanol, water and extract that go in come out, are lost by name, or become carbon dioxide and yeast."""
    for working in house.book.workings:
        into, out = _sum(working.into), _sum(working.out) + _sum(working.lost)

        assert out.mass_kg + working.gas_kg + working.yeast_kg == pytest.approx(into.mass_kg, rel=1e-9), working.run
        assert out.water_kg == pytest.approx(into.water_kg, rel=1e-9), working.run
        if not working.gas_kg:
            assert out.ethanol_kg == pytest.approx(into.ethanol_kg, rel=1e-9, abs=1e-9), working.run


def test_fermentation_makes_alcohol_by_ballings_factors(house):
    """2.0665 g of extract make 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast (Balling)."""
    ferments = [w for w in house.book.workings if w.gas_kg]
    assert len(ferments) == sum(run.stage == "ferment" for run in house.book.runs)
    for working in ferments:
        alcohol = _sum(working.out).ethanol_kg + _sum(working.lost).ethanol_kg
        gone = _sum(working.into).extract_kg - _sum(working.out).extract_kg

        assert gone == pytest.approx(2.0665 * alcohol, rel=1e-9)
        assert working.gas_kg == pytest.approx(0.9565 * alcohol, rel=1e-9)


def test_no_lot_gives_more_than_it_holds(house):
    """Each lot's remainder is its own total of changes and never below nothing."""
    for lot in house.cellar.lots.values():
        held = sum((change for _, change in lot.changes), Liquid())

        assert held.mass_kg == pytest.approx(lot.holds.mass_kg, abs=1e-6)
        assert lot.holds.ethanol_kg > -1e-9, lot.name
        assert lot.holds.water_kg > -1e-9, lot.name


def test_lots_are_made_or_received_before_they_are_drawn(house):
    """Every movement in names a lot that is there by then, but for the one that never came."""
    there = {receipt.lot: receipt.received for receipt in house.book.receipts}
    there |= {name: lot.made for name, lot in house.cellar.lots.items()}
    unknown = {record for fault in house.book.faults if fault.rule == "lot-unknown" for record in fault.records}
    drawn = [movement for movement in house.book.movements if movement.direction == "in"]
    assert drawn

    late = [m.lot for m in drawn if m.lot not in unknown and there[m.lot] > m.gauged]

    assert late == []
    assert unknown.isdisjoint(there)


def test_only_the_planted_runs_overlap(house):
    """No two runs share a still, fermenter, filter or filling line at a time, but for the planted pair."""
    by_equipment = defaultdict(list)
    for run in house.book.runs:
        by_equipment[run.equipment].append(run)
    overlapping = [
        later.run
        for runs in by_equipment.values()
        for earlier, later in zip(
            sorted(runs, key=lambda r: r.started), sorted(runs, key=lambda r: r.started)[1:], strict=False
        )
        if later.started < earlier.ended
    ]

    planted = [fault.records[0] for fault in house.book.faults if fault.rule == "still-overlap"]
    assert overlapping == planted


def test_batches_are_as_many_as_a_small_house_makes(house):
    """Forty to forty-eight batches of five products, each with its own name."""
    batches = [item.batch for item in house.book.bottlings]

    assert 40 <= len(batches) <= 48
    assert len(set(batches)) == len(batches)
    assert {item.product for item in house.book.bottlings} == {"VODKA", "GIN", "AKVAVIT", "QUINCE", "APPLE"}


def test_bottles_hold_no_more_alcohol_than_was_drawn(house):
    """What is bottled is a little less than what the line drew."""
    for working in house.book.workings:
        if working.run.startswith("PAK"):
            loss = 1.0 - _sum(working.out).alcohol_l / _sum(working.into).alcohol_l
            assert 0.0 < loss < 0.03, working.run


def test_laboratory_results_stand_before_the_bottling(house):
    """Results of a batch's liquid are on record before it is bottled."""
    drawn = {m.run: (m.lot, m.gauged) for m in house.book.movements if m.direction == "in" and m.run.startswith("PAK")}
    assert len(drawn) == len(house.book.bottlings)
    for lot, gauged in drawn.values():
        results = [r for r in house.book.results if r.lot == lot]
        assert len([r for r in results if r.analyte == "strength"]) == 2, lot
        assert max(r.measured for r in results) < gauged + timedelta(hours=1), lot
