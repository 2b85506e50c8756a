"""Derived quantities of the small house, reckoned by hand from the definitions."""

import pytest


def test_alcohol_of_a_gauge_is_volume_times_strength(book):
    """1000 L of 10.0 % vol at 20 °C are 100 LPA (definition of strength by volume, OIML R 22)."""
    alcohol, u = book.frame("SELECT alcohol_l, u_alcohol_l FROM derived.gauges WHERE lot = 'WASH-1' LIMIT 1").row(0)

    assert alcohol == pytest.approx(100.0)
    # GUM, first order: sqrt((10 % x 3.0 L)^2 + (1000 L x 0.08 %)^2), the 3.0 L being 0.3 % of the volume
    assert u == pytest.approx((0.3**2 + 0.8**2) ** 0.5, rel=1e-3)


def test_balance_of_the_strip_run(book):
    """In, out by part, loss, recovery and closure are sums and ratios of sums of LPA."""
    run = book.frame("SELECT * FROM derived.run_balances WHERE run = 'STR-1'").row(0, named=True)

    assert run["alcohol_in_l"] == pytest.approx(100.0)
    assert (run["heads_l"], run["hearts_l"], run["tails_l"]) == pytest.approx((0.8, 95.0, 0.6))
    assert run["spent_l"] == pytest.approx(0.88)
    assert run["loss_l"] == pytest.approx(2.72)
    assert run["recovery"] == pytest.approx(0.95)
    u_hearts = book.value("SELECT u_alcohol_l FROM derived.gauges WHERE run = 'STR-1' AND part = 'hearts'")
    assert run["u_hearts_l"] == pytest.approx(u_hearts) and u_hearts > 0
    assert run["closure"] == pytest.approx(0.9728)


def test_ferment_yield_against_prediction(book):
    """Yield is LPA per tonne; the prediction is extract x fermentability x 6.06 (Bringhurst et al. 1996)."""
    ferment = book.frame("SELECT * FROM derived.ferment_yields").row(0, named=True)

    assert ferment["extract_kg"] == pytest.approx(200 * 0.80 * 0.95)
    assert ferment["yield_l_per_t"] == pytest.approx(500.0)
    assert ferment["predicted_yield_l_per_t"] == pytest.approx(76.0 * 0.85 * 6.06)
    assert ferment["malt_lots"] == ["MALT-1"]


def test_laboratory_density_becomes_strength(book):
    """948.05 kg/m3 at 20 °C is 40.0 % vol (OIML R 22, Table IVa); duplicates within repeatability are averaged."""
    strength = book.frame("SELECT * FROM derived.laboratory WHERE analyte = 'strength'").row(0, named=True)

    assert strength["value"] == pytest.approx(40.0, abs=0.015)
    assert strength["replicates"] == 2
    assert 0.02 < strength["u_value"] < 0.05  # 0.05 kg/m3 over a slope of about 1.6 kg/m3 per % vol


def test_duplicates_that_disagree_give_no_value(received, tmp_path):
    """Beyond the critical range there is no accepted value, only the spread (ISO 5725-6)."""
    from gaugebook.pipeline.book.database import open_book

    received(
        {
            "lab.csv": """
                sample;lot;analyte;value;unit;t;rep;instrument
                L3;RED-L1;strength;40,05;pct_vol;;1;DM
                L3;RED-L1;strength;45,00;pct_vol;;2;DM
            """
        }
    )

    with open_book(tmp_path / "book") as book:
        value, spread = book.frame("SELECT value, spread FROM derived.laboratory WHERE analyte = 'strength'").row(0)
    assert value is None
    assert spread == pytest.approx(4.95)


def test_results_below_the_limit_stay_marked(book):
    """ "<5" is kept as the limit with its mark, never as zero."""
    methanol = book.frame("SELECT * FROM derived.laboratory WHERE analyte = 'methanol'").row(0, named=True)

    assert methanol["below_limit"] is True
    assert methanol["per_alcohol_g_hl"] == pytest.approx(5.0 / 10 / 0.40, rel=1e-3)  # mg/L over 40 % vol


def test_lineage_leads_back_to_the_grain(book):
    """Every lot behind the bottles is found, each with a share that is whole because nothing was blended."""
    lineage = book.frame("SELECT lot, share, consumed FROM derived.lineage WHERE batch = 'RYE-1'")

    assert set(lineage["lot"]) == {"RED-L1", "SPIRIT-1", "WATER", "WASH-1", "WORT-1", "MALT-1"}
    shares = dict(lineage.select("lot", "share").iter_rows())
    assert shares["MALT-1"] == pytest.approx(1.0)
    assert shares["WATER"] is None
    grain = dict(lineage.select("lot", "consumed").iter_rows())["MALT-1"]
    assert grain == pytest.approx(200.0, rel=2e-3)  # all of the mash, but for what differs in gauging before bottling


def test_bottling_counts_against_the_label(book):
    """Bottled alcohol is bottles x mean fill x laboratory strength; the tolerable error of 500 mL is 15 mL."""
    batch = book.frame("SELECT * FROM derived.bottlings").row(0, named=True)

    assert batch["alcohol_bottled_l"] == pytest.approx(470 * 0.501 * batch["laboratory_strength_pct_vol"] / 100)
    assert batch["tolerable_negative_error_ml"] == 15.0  # Directive 76/211/EEC, Annex I, 2.4
    assert batch["label_deviation_pct_vol"] == pytest.approx(0.0, abs=0.02)


def test_a_missing_reading_is_not_zero(received, tmp_path):
    """A run with a part that was not gauged has no balance, and the part says why."""
    from gaugebook.pipeline.book.database import open_book

    received(
        {
            "moves.csv": """
                run,dir,lot,part,vessel,L,tV,S,kind,tS,kg
                STR-1,in,WASH-1,wash,F1,1000,20,10.0,pct_vol_20c,,
                STR-1,out,SPIRIT-1,hearts,T1,118.75,20,,,,
            """
        }
    )

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT recovery FROM derived.run_balances WHERE run = 'STR-1'") is None
        assert book.value("SELECT parts_not_computed FROM derived.run_balances WHERE run = 'STR-1'") == 1
        reason = book.value("SELECT not_computed FROM derived.gauges WHERE lot = 'SPIRIT-1'")
    assert reason == "no strength was read and none is known of the lot"


def test_months_are_the_house_s_own(book):
    """The month's ratio is a ratio of sums, under the month in which the run ended by the local calendar."""
    ratio, runs = book.frame(
        "SELECT ratio, runs FROM derived.monthly WHERE measure = 'strip_recovery' AND equipment IS NULL"
    ).row(0)

    assert (ratio, runs) == (pytest.approx(0.95), 1)
