"""The subjects' frames of what a house does beside distilling: reductions, filters, checks of instruments, samples; and
which law a batch meets, by jurisdiction and date (all records made up)."""

import polars as pl
import pytest

from gaugebook.checks.run import effective_rules

US_VODKA = """
[[products]]
code = "USVODKA"
name = "Vodka for export"
category = "vodka"
jurisdiction = "US"
label_strength_pct_vol = 40.0
nominal_ml = 750.0
"""


@pytest.fixture
def export(book, bottle):
    """A vodka under the law of the United States, bottled on a day: export("2025-01-09")."""
    book.execute("UPDATE received.houses SET text = text || ?", [US_VODKA])

    def make(day, nominal_ml=750.0):
        bottle("X-1", "USVODKA", "PROOF-1", nominal_ml=nominal_ml, jurisdiction="US")
        book.execute("UPDATE derived.bottlings SET bottled_at = ?", [day])
        return effective_rules(book)[1]

    return make


@pytest.mark.parametrize(
    ("day", "nominal_ml", "allowed"),
    # 27 CFR 5.203: 710 mL since 10 January 2025, 750 mL before and since
    [("2025-01-09", 710.0, None), ("2025-01-10", 710.0, 710.0), ("2025-01-09", 750.0, 750.0)],
)
def test_sizes_are_those_of_the_day(export, row_of, day, nominal_ml, allowed):
    """A size meets the list in force on the day of bottling."""
    assert row_of(export(day, nominal_ml)["batches"], batch="X-1")["allowed_ml"] == allowed


def test_a_product_meets_the_law_of_its_jurisdiction(export, row_of):
    """27 CFR 5.142 and 5.65(c): bottled at 40 % vol or more, ±0.3 % vol on the label; 2 % of a fill of 750 mL."""
    frames = export("2026-01-01")
    row = row_of(frames["batches"], batch="X-1")

    assert (row["jurisdiction"], row["least_strength_pct_vol"], row["tolerance_pct_vol"]) == ("US", 40.0, 0.3)
    assert row["jurisdiction_held"] == "US"
    assert row_of(frames["fills"], batch="X-1")["allowed_variation"] == 0.02


def test_no_law_is_lent_to_a_product_of_another_jurisdiction(book, bottle, row_of):
    """A product under a law that is not held here, and one that the profile lacks, meet none of the European Union's or
    of the United States'."""
    book.execute("UPDATE received.houses SET text = text || ?", [US_VODKA.replace('"US"', '"CH"')])
    bottle("X-1", "USVODKA", "PROOF-1", nominal_ml=750.0, jurisdiction="CH")
    bottle("X-2", "UNKNOWN", "PROOF-2", nominal_ml=750.0)

    frames = effective_rules(book)[1]

    for batch, jurisdiction in (("X-1", "CH"), ("X-2", None)):
        row = row_of(frames["batches"], batch=batch) | row_of(frames["fills"], batch=batch)
        asked = ("tolerance_pct_vol", "least_strength_pct_vol", "volume_is_bound", "allowed_variation")
        assert row["jurisdiction"] == jurisdiction
        assert [row[name] for name in (*asked, "jurisdiction_held")] == [None] * 5


def test_neutral_spirit_of_the_united_states(export, put, row_of):
    """27 CFR 5.142(a): distilled at 95 % vol or more, and no residues are limited."""
    put("derived.gauges", run="REC-1", direction="out", lot="NS-1", part="hearts", stage="rectify",
        strength_pct_vol=95.5, u_strength_pct_vol=0.1, gauged_at="2025-12-01")  # fmt: skip
    put("derived.laboratory", lot="NS-1", analyte="methanol", value=2.0, unit="g/hL pa", below_limit=False)
    put("derived.lineage", batch="X-1", run="RED-1", lot="NS-1", into_lot="PROOF-1", depth=2)

    neutral = export("2026-01-01")["neutral_spirit"]

    # 190 proof at 60 °F; at 20 °C that is 95.007 % vol by the densities of OIML R 22
    assert neutral.select("record", pl.col("least").round(3)).rows() == [("lot NS-1, strength (US)", 95.007)]


@pytest.mark.parametrize(
    ("day", "most", "value"),
    # Article 5(d) before and since 15 August 2022: furfural "not detectable", then 0.5 g/hl of 100 % vol alcohol
    [("2022-08-14", 0.0, 0.0), ("2022-08-15", 0.5, 0.05)],
)
def test_residues_are_those_of_the_day(book, bottle, put, frames, row_of, day, most, value):
    """Below its limit of quantification furfural was not detected; under the new limit it counts as that limit."""
    bottle("V-1", "VODKA", "PROOF-1")
    book.execute("UPDATE derived.bottlings SET bottled_at = ?", [day])
    put("derived.gauges", run="REC-1", direction="out", lot="NS-1", part="hearts", stage="rectify")
    put("derived.lineage", batch="V-1", run="RED-1", lot="NS-1", into_lot="PROOF-1", depth=2)
    put("derived.laboratory", lot="NS-1", analyte="furfural", value=0.05, unit="g/hL pa", below_limit=True, u_value=0.5)

    row = row_of(frames()["neutral_spirit"], analyte="furfural")

    assert (row["most"], row["value"]) == (most, value)


def test_the_next_check_vouches_for_readings_or_puts_them_in_doubt(put, frames):
    """Two runs before a check that fails, one after it: the two have its error, the one has the next check's."""
    for at, reading in [("2031-01-01", 40.1), ("2031-03-01", 41.0), ("2031-05-01", 40.0)]:
        put(
            "typed.calibrations", instrument="HYD-1", checked_at=at, reference_value=40, reading=reading, unit="pct_vol"
        )
    for run, at in [("R-1", "2031-01-15"), ("R-2", "2031-02-15"), ("R-3", "2031-04-01"), ("R-4", "2031-06-01")]:
        put("typed.movements", run=run, direction="out", lot="L", part="hearts", instrument="HYD-1", gauged_at=at)

    vouched = frames()["vouched"]

    assert dict(vouched.select("run", "error").rows()) == {"R-1": 1.0, "R-2": 1.0, "R-3": 0.0}  # R-4 has no check yet
    assert vouched["u_instrument"].to_list() == [0.15] * 3


def test_several_ways_of_measuring_a_lot_are_compared(put, frames, row_of):
    """Means by instrument, 40.1 and 40.5; two results by one way are no two ways."""
    for lot, instrument, value in [("A", "DM-1", 40.0), ("A", "DM-1", 40.2), ("A", "DM-2", 40.5), ("B", "DM-1", 40.0)]:
        put("typed.laboratory", sample=f"S{value}", lot=lot, analyte="strength", value=value, below_limit=False,
            unit="pct_vol", instrument=instrument)  # fmt: skip

    row = row_of(frames()["methods"], lot="A")

    assert row["apart"] == pytest.approx(0.4)
    assert (row["allowed_apart"], row["note"]) == (0.4, "DM-1 40.1, DM-2 40.5")


def test_a_sample_has_its_analyst_and_its_order_of_time(put, frames, row_of):
    """Taken two hours after it was measured; one of its results has no analyst, and the other's is nobody's."""
    common = {"sample": "S-1", "lot": "A", "below_limit": False, "unit": "g/L", "value": 1.0,
              "taken_at": "2031-01-01 12:00", "measured_at": "2031-01-01 10:00"}  # fmt: skip
    put("typed.laboratory", analyte="dry_extract", analyst="ZZ", **common)
    put("typed.laboratory", analyte="methanol", **common)

    row = row_of(frames()["samples"], lot="A")

    assert (row["analyst"], row["analysts_known"], row["hours_measured_before_taken"]) == (None, "false", 2.0)


def test_a_reduction_must_give_what_goes_into_it(put, frames, row_of):
    """Spirit and water that weigh as 100 L of 40 % vol (948.05 kg/m3, OIML R 22) give 40 % vol; 41.0 was gauged."""
    put("typed.runs", run="RED-1", stage="reduce", equipment="P1", started_at="2031-01-01", ended_at="2031-01-02")
    for lot, part, alcohol_l, mass_kg in [("NS", "spirit", 40.0, 33.6), ("WAT", "water", 0.0, 94.805 - 33.6)]:
        put("derived.gauges", run="RED-1", direction="in", lot=lot, part=part, stage="reduce", alcohol_l=alcohol_l,
            mass_kg=mass_kg, u_alcohol_l=0.2 if alcohol_l else 0.0, volume_l=50.0, u_volume_l=0.1)  # fmt: skip
    put("derived.gauges", run="RED-1", direction="out", lot="PROOF", part="spirit", stage="reduce", alcohol_l=41.0,
        strength_pct_vol=41.0, u_strength_pct_vol=0.1)  # fmt: skip

    row = row_of(frames()["reductions"], run="RED-1")

    assert row["predicted_pct_vol"] == pytest.approx(40.0, abs=0.005)
    assert row["strength_pct_vol"] == 41.0
    # relative: alcohol 0.2/40; mass 0.2 % of each part; so 40 times sqrt(0.005^2 + (0.002 sqrt(33.6^2+61.2^2)/94.8)^2)
    assert row["u_predicted_pct_vol"] == pytest.approx(0.2085, abs=0.0005)
    assert row["allowed_pct_vol"] == pytest.approx(3 * (0.2085**2 + 0.1**2) ** 0.5, abs=0.005)


def test_a_filter_changes_no_strength(put, frames, row_of):
    """Out less in, with both uncertainties; loss over alcohol in."""
    put("typed.runs", run="FIL-1", stage="filter", equipment="FT1", started_at="2031-01-01", ended_at="2031-01-02")
    put("derived.run_balances", run="FIL-1", stage="filter", alcohol_in_l=100.0, loss_l=4.0, u_loss_l=0.5)
    for direction, strength in (("in", 44.0), ("out", 43.4)):
        put("derived.gauges", run="FIL-1", direction=direction, lot=direction, part="liquid", stage="filter",
            alcohol_l=100.0, strength_pct_vol=strength, u_strength_pct_vol=0.1)  # fmt: skip

    row = row_of(frames()["filtrations"], run="FIL-1")

    assert (row["loss"], row["u_loss"]) == (0.04, 0.005)
    assert row["change_pct_vol"] == pytest.approx(-0.6)
    assert row["u_change_pct_vol"] == pytest.approx(0.1 * 2**0.5)


@pytest.mark.parametrize(
    ("hearts_from", "hearts_to", "outside"),
    [
        ("2031-01-01 08:00", "2031-01-01 12:00", 0.0), ("2031-01-01 05:30", "2031-01-01 12:00", 30.0),
        ("2031-01-01 08:00", "2031-01-01 15:00", 60.0), ("2031-01-01 12:00", "2031-01-01 11:00", 60.0),
    ],
)  # fmt: skip
def test_cuts_lie_within_their_run(put, frames, row_of, hearts_from, hearts_to, outside):
    """A run from 06:00 to 14:00: cuts before, after, and the wrong way round."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S9", started_at="2031-01-01 06:00",
        ended_at="2031-01-01 14:00", hearts_from=hearts_from, hearts_to=hearts_to)  # fmt: skip

    row = row_of(frames()["runs"], run="STR-1")

    assert (row["cuts_outside_min"], row["gauged_in"], row["gauged_out"]) == (outside, None, None)


def test_at_cask_strength_each_batch_has_its_own_label(frames_with, bottle, row_of):
    """Its profile's strength is asked of none, while the laboratory's difference from the label stays."""
    cask = """
[[products]]
code = "CASK"
name = "Cask strength"
category = "whisky"
jurisdiction = "EU"
label_strength_pct_vol = 58.0
nominal_ml = 700.0
claims = ["cask strength"]
"""
    bottle("B-1", "CASK", "VAT", label_strength_pct_vol=60.3, label_deviation_pct_vol=-0.9)
    bottle("B-2", "VODKA", "PROOF", label_strength_pct_vol=40.0)
    batches = frames_with(cask)["batches"]

    own, other = (row_of(batches, batch=batch) for batch in ("B-1", "B-2"))
    assert (own["profile_strength_pct_vol"], own["label_deviation_pct_vol"]) == (None, -0.9)
    assert other["profile_strength_pct_vol"] == 40.0
