"""The sample of a batch against its law, and the label where that law states it: on rows put in by hand."""

import numpy as np
import polars as pl
import pytest

from gaugebook.pipeline.derived.bottlings import SAMPLED, _as_stated, _mean_deficit, _sample, contents_as_stated

ROW = {"nominal_ml": 700.0, "jurisdiction": "EU", "bottles_filled": 5000}


def told(figures):
    return {name: value for name, value in figures.items() if value is not None}


def test_a_sample_in_figures():
    """698, 700 and 705 mL of a law that asks no test: mean 701, standard deviation sqrt(13)."""
    figures = _sample(ROW | {"jurisdiction": "US"}, [705.0, 698.0, 700.0], False)

    assert list(figures) == list(SAMPLED)
    assert told(figures) == {
        "fills": 3, "fill_mean_ml": pytest.approx(701.0), "fill_sd_ml": pytest.approx(13**0.5), "fill_least_ml": 698.0,
        "fill_most_ml": 705.0, "fills_over": 1, "fills_under": 1,
    }  # fmt: skip


def test_contents_are_taken_to_the_temperature_of_the_label():
    """0.997 of what they are at 20 °C (27 CFR 30.67, Table 7: 80 proof at 68 °F), by the laboratory's strength, else by
    the label's; what was measured at 60 °F stays as it is, and no sample is none."""
    row = {"laboratory_strength_pct_vol": 40.0, "label_strength_pct_vol": 20.0, "stated_at_c": 140 / 9}
    contents = [(1000.0, 20.0), (1000.0, 140 / 9)]

    assert contents_as_stated(contents, row) == pytest.approx([997.0, 1000.0], abs=0.5)
    assert contents_as_stated(contents, row)[1] == pytest.approx(1000.0, abs=1e-9)
    by_label = contents_as_stated(contents, row | {"laboratory_strength_pct_vol": None})
    assert by_label[0] == contents_as_stated(contents, row | {"laboratory_strength_pct_vol": 20.0})[0]
    assert by_label[0] == pytest.approx(998.5, abs=0.5)  # Table 7: 0.998 for 40 proof
    assert contents_as_stated([], row).tolist() == []


def test_one_bottle_has_no_scatter():
    """Its mean is its own content."""
    figures = _sample(ROW | {"jurisdiction": "US"}, [1000.0], False)

    assert (figures["fill_mean_ml"], figures["fill_sd_ml"], figures["fills_over"]) == (1000.0, None, 1)


@pytest.mark.parametrize(
    ("more", "is_asked"),
    [({}, True), ({"bottles_filled": 0}, False), ({"bottles_filled": 1}, True), ({"jurisdiction": None}, False)],
)
def test_what_is_asked_of_a_batch_without_a_sample(more, is_asked):
    """The plan of the union and the tolerable error of 700 mL, 15 mL (Directive 76/211/EEC, Annex I, 2.4)."""
    asked = told(_sample(ROW | more, [], False))

    assert set(asked) == ({"fills_asked", "fills_asked_for_mean", "tolerable_negative_error_ml"} if is_asked else set())
    assert not is_asked or asked["tolerable_negative_error_ml"] == 15.0


def test_bottles_that_are_short():
    """By just 15 mL is tolerated, by more it is not; by just 30 is not twice too much, by more it is. A unit's rounding
    of a millionth is none."""
    fills = [685.0, 685.000001, 684.9, 670.0, 669.9, 700.0, 684.999999]
    figures = _sample(ROW, fills, False)

    assert (figures["fills_below_tne"], figures["fills_below_2tne"]) == (3, 1)
    assert (figures["fills_over"], figures["fills_under"]) == (0, 6)


@pytest.mark.parametrize(
    ("short_ml", "asked", "batch", "deficit"),
    [
        ([1.0], 30, 5000, None), ([1.0], 1, 1, 1.0),
        ([10.0, 10.0], 30, 5000, "beyond"), ([1.0, -1.0], 30, 5000, None), ([1.0, -1.0], 2, 5000, "within"),
    ],
)  # fmt: skip
def test_how_far_the_mean_falls_short(short_ml, asked, batch, deficit):
    """Less what sampling explains; too small a sample can only fail, and of one bottle of a batch of many nothing is
    told. Of a batch of one that bottle is the mean."""
    value = _mean_deficit(np.array(short_ml), asked, batch)

    if deficit in ("beyond", "within"):
        assert value is not None
        assert (value > 0) is (deficit == "beyond")
    else:
        assert value == deficit


def test_a_label_is_met_where_its_law_states_it():
    """40.069 % vol at 20 °C are 80 proof, 40.0 % at 60 °F (27 CFR 30.11, OIML R 22); contents by the strength, without
    one by that of the label. In the Union all stays at 20 °C."""
    rows = _as_stated(
        pl.DataFrame(
            {
                "jurisdiction": ["EU", "US", "US", None], "label_strength_pct_vol": [40.0, 40.0, 40.0, 40.0],
                "laboratory_strength_pct_vol": [40.069, 40.069, None, 40.5],
            }
        )
    )  # fmt: skip

    assert rows["stated_at_c"].to_list() == pytest.approx([20.0, 15.556, 15.556, 20.0], abs=0.001)
    assert rows["stated_strength_pct_vol"].to_list() == [40.069, pytest.approx(40.0, abs=0.001), None, 40.5]
    assert rows["label_deviation_pct_vol"].to_list() == [
        pytest.approx(0.069), pytest.approx(0.0, abs=0.001), None, pytest.approx(0.5),
    ]  # fmt: skip
    assert rows["fill_factor"].to_list() == pytest.approx([1.0, 0.997, 0.997, 1.0], abs=0.0005)
