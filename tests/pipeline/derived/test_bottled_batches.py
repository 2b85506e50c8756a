"""What a bottling run drew and filled, on gauges put in by hand: 60 and 40 LPA became 95 LPA in bottles."""

import pytest


@pytest.fixture
def batch(empty_book, put, made_by):
    """The row of batch B, filled in run BOT from L1 and L2, of which L1 is the greater part."""
    empty_book.execute("CREATE OR REPLACE TABLE derived.house_products (code VARCHAR, jurisdiction VARCHAR)")
    empty_book.execute("INSERT INTO derived.house_products VALUES ('GIN', 'EU'), ('RUM', 'US')")
    put("typed.bottling", lot="B", run="BOT", product="GIN", bottled_at="2031-01-01", nominal_ml=700.0,
        label_strength_pct_vol=40.0, bottles_filled=340, bottles_rejected=2)  # fmt: skip
    for gauge, run, direction, lot, part, stage, alcohol_l in (
        (1, "BOT", "in", "L2", "spirit", "bottle", 40.0), (2, "BOT", "in", "L1", "spirit", "bottle", 60.0),
        (3, "BOT", "out", "B", "bottles", "bottle", 95.0), (4, "BOT", "out", "REST", "liquid", "bottle", 3.0),
        (5, "RED", "in", "L1", "spirit", "reduce", 7.0), (6, "RE", "in", "B", "bottles", "reduce", 9.0),
    ):  # fmt: skip
        put("derived.gauges", gauge=gauge, run=run, direction=direction, lot=lot, part=part, stage=stage,
            alcohol_l=alcohol_l)  # fmt: skip
    for gauge, error, part in (
        (1, "e", 0.3), (1, "f", 0.4), (2, "e", 0.5), (3, "e", 0.6), (3, "g", 0.2), (4, "e", 9.0), (5, "e", 9.0),
        (6, "g", 9.0),
    ):  # fmt: skip
        put("derived.gauge_errors", gauge=gauge, error=error, alcohol_l=part)

    def row():
        (only,) = made_by("bottled_batches")
        return only

    return row


def put_strength(put, lot, value, **more):
    put("derived.laboratory", lot=lot, analyte="strength", value=value, u_value=value / 1000, **more)


def test_alcohol_in_and_in_bottles_with_the_errors_that_they_share(batch):
    """100 and 95 LPA: 5 % lost. Of error e 0.8 LPA went in and 0.6 came out, of f 0.4 in, of g 0.2 out; in the loss
    each stands with out / 100 - 95 in / 100^2."""
    row = batch()

    assert (row["batch"], row["run"], row["product"], row["jurisdiction"]) == ("B", "BOT", "GIN", "EU")
    assert (row["alcohol_in_l"], row["alcohol_bottled_l"]) == (100.0, 95.0)
    assert row["u_alcohol_in_l"] == pytest.approx((0.8**2 + 0.4**2) ** 0.5)
    assert row["u_alcohol_bottled_l"] == pytest.approx((0.6**2 + 0.2**2) ** 0.5)
    assert row["bottling_loss"] == pytest.approx(0.05)
    parts = (0.006 - 0.0095 * 0.8, -0.0095 * 0.4, 0.002)
    assert row["u_bottling_loss"] == pytest.approx(sum(part**2 for part in parts) ** 0.5)


@pytest.mark.parametrize(("gauge", "known"), [(2, (None, 95.0)), (3, (100.0, None))])
def test_a_gauge_that_could_not_be_computed(batch, empty_book, gauge, known):
    """What it belongs to is not known, and what is made of it: 40 LPA alone would have lost less than nothing."""
    empty_book.execute("UPDATE derived.gauges SET alcohol_l = NULL WHERE gauge = ?", [gauge])
    row = batch()

    assert (row["alcohol_in_l"], row["alcohol_bottled_l"]) == known
    assert (row["u_alcohol_in_l"] is None, row["u_alcohol_bottled_l"] is None) == (gauge == 2, gauge == 3)
    assert (row["bottling_loss"], row["u_bottling_loss"]) == (None, None)


def test_a_batch_of_which_nothing_was_drawn(batch, empty_book):
    """It has neither alcohol that went in nor a loss."""
    empty_book.execute("DELETE FROM derived.gauges WHERE direction = 'in'")
    row = batch()

    assert (row["alcohol_in_l"], row["u_alcohol_in_l"], row["bottling_loss"], row["u_bottling_loss"]) == (None,) * 4
    assert row["alcohol_bottled_l"] == 95.0


def test_the_strength_is_that_of_the_batch_else_of_the_liquid(batch, put):
    """Of the liquid that gave the most alcohol; another analyte is none."""
    put("derived.laboratory", lot="B", analyte="methanol", value=7.0)
    put_strength(put, "L1", 40.1)
    put_strength(put, "L2", 50.0)
    of_liquid = batch()
    put_strength(put, "B", 40.0)
    of_batch = batch()

    assert (of_liquid["laboratory_strength_pct_vol"], of_liquid["u_laboratory_strength_pct_vol"]) == (
        40.1,
        pytest.approx(0.0401),
    )
    assert (of_batch["laboratory_strength_pct_vol"], of_batch["u_laboratory_strength_pct_vol"]) == (40.0, 0.04)


@pytest.mark.parametrize(
    ("own", "liquid", "holds", "standing"),
    # preparation of the batch's own strength and of the liquid's ("-": none is on record), which lot may hold extract
    [
        ("-", "-", None, None), ("-", "direct", None, "true"), ("-", "direct", "L1", "apparent"),
        ("-", "distilled", "L1", "true"), ("-", None, "L1", "apparent"), ("direct", "distilled", "L1", "apparent"),
        ("distilled", "direct", "L1", "true"), ("direct", "-", "B", "apparent"), ("direct", "-", "L2", "true"),
    ],
)  # fmt: skip
def test_what_a_strength_is(batch, put, own, liquid, holds, standing):
    """Apparent where something is or may be dissolved and what was measured was not distilled."""
    for lot, preparation in (("B", own), ("L1", liquid)):
        if preparation != "-":
            put_strength(put, lot, 40.0, preparation=preparation)
    if holds:
        put("derived.extracts", lot=holds, extract_g_l=12.0, may_hold_from="2030-01-01")
    row = batch()

    assert row["laboratory_strength_is"] == standing
    assert row["extract_g_l"] == (12.0 if holds in ("L1", "B") else None)


def test_what_the_liquid_holds_goes_before_what_the_bottles_do(batch, put):
    """The batch's own extract counts where nothing is known of the liquid."""
    put("derived.extracts", lot="B", extract_g_l=99.0)
    put("derived.extracts", lot="L1", extract_g_l=12.0)

    assert batch()["extract_g_l"] == 12.0
