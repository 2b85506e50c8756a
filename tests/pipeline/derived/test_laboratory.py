"""Accepted values of the laboratory from single results put in by hand."""

import pytest
from r22_formula import density, mass_fraction_of_strength
from small_house import HOUSE

from gaugebook.pipeline.derived.laboratory import laboratory
from gaugebook.pipeline.house.settings import parse_house

INSTRUMENTS = """
[[instruments]]
code = "VOL"
kind = "alcoholmeter"
name = "Alcoholmeter"
u = 0.2
unit = "pct_vol"
"""
PROFILE = parse_house(HOUSE.replace("[uncertainty]", "[uncertainty]\nscatter = 0.6") + INSTRUMENTS, "house.toml")


@pytest.fixture
def accepted(empty_book, put):
    """Rows of derived.laboratory by analyte, of results of lot A: accepted({"analyte": "strength", "value": 40.0})."""

    def rows(*results):
        for number, result in enumerate(results, start=1):
            given = {"lot": "A", "sample": "S", "unit": "pct_vol", "below_limit": False, "replicate": number}
            put("typed.laboratory", **given | {"line": number} | result)
        laboratory(empty_book, PROFILE)
        return {row["analyte"]: row for row in empty_book.frame("SELECT * FROM derived.laboratory").to_dicts()}

    return rows


def strengths(*values, **more):
    return [{"analyte": "strength", "value": value} | more for value in values]


@pytest.mark.parametrize(
    ("results", "range_pct_vol"),
    # 0.2 % vol of two results, 0.2 / 2.8 times the factor of ISO 5725-6 (from memory) of more
    [(2, 0.2), (3, 0.2 * 3.3 / 2.8), (4, 0.2 * 3.6 / 2.8), (5, 0.2 * 3.9 / 2.8), (6, 0.2 * 3.9 / 2.8)],
)
def test_strengths_agree_within_their_critical_range(accepted, results, range_pct_vol):
    """The mean of those that do; NULL, with the spread, of those that do not."""
    within = accepted(*strengths(*[40.0] * (results - 1), 40.0 + range_pct_vol - 0.001))["strength"]

    assert within["value"] == pytest.approx(40.0 + (range_pct_vol - 0.001) / results)
    assert (within["replicates"], within["spread"]) == (results, pytest.approx(range_pct_vol - 0.001))


@pytest.mark.parametrize("results", [2, 3, 4, 5, 6])
def test_strengths_beyond_it_give_no_value(accepted, results):
    """A thousandth more than the range."""
    range_pct_vol = 0.2 / 2.8 * {2: 2.8, 3: 3.3, 4: 3.6}.get(results, 3.9)
    beyond = accepted(*strengths(*[40.0] * (results - 1), 40.0 + range_pct_vol + 0.001))["strength"]

    assert (beyond["value"], beyond["spread"]) == (None, pytest.approx(range_pct_vol + 0.001))


def test_other_analytes_are_averaged_whatever_their_spread(accepted):
    """No range is known of them."""
    (row,) = accepted(*({"analyte": "ph", "unit": "ph", "value": value} for value in (3.0, 7.0))).values()

    assert (row["value"], row["spread"], row["u_value"]) == (5.0, 4.0, None)


def test_what_was_distilled_goes_before_what_was_read_directly(accepted):
    """Of a strength; other analytes keep what was measured on either."""
    rows = accepted(
        *strengths(38.0, preparation="direct"), *strengths(40.0, 40.1, preparation="distilled"), *strengths(30.0),
        {"analyte": "ph", "unit": "ph", "value": 3.0, "preparation": "direct"},
        {"analyte": "ph", "unit": "ph", "value": 4.0, "preparation": "distilled"},
    )  # fmt: skip

    assert (rows["strength"]["value"], rows["strength"]["replicates"]) == (pytest.approx(40.05), 2)
    assert rows["strength"]["preparation"] == "distilled"
    assert (rows["ph"]["value"], rows["ph"]["preparation"]) == (3.5, None)


@pytest.mark.parametrize(
    ("preparations", "expected"),
    [(("direct", "direct"), "direct"), (("direct", None), None), ((None, None), None)],
)
def test_a_preparation_is_told_where_all_results_have_it(accepted, preparations, expected):
    """One that does not say leaves it open."""
    given = [{"analyte": "strength", "value": 40.0, "preparation": name} for name in preparations]

    assert accepted(*given)["strength"]["preparation"] == expected


def test_samples_methods_limits_and_the_last_day(accepted):
    """Each named once, in order; below the limit where all are; the day of the last measurement."""
    same = {"analyte": "methanol", "unit": "g/hL pa"}
    (row,) = accepted(
        same | {"value": 2.0, "sample": "S2", "method": "GC", "measured_at": "2031-01-02", "below_limit": True},
        same | {"value": 4.0, "sample": "S1", "measured_at": "2031-01-03", "below_limit": True},
        same | {"value": 3.0, "sample": "S2", "method": "AB", "measured_at": "2031-01-01", "below_limit": True},
    ).values()

    assert (row["samples"], row["methods"], row["below_limit"]) == ("S1, S2", "AB, GC", True)
    assert str(row["measured_at"])[:10] == "2031-01-03"
    assert (row["value"], row["per_alcohol_g_hl"]) == (3.0, 3.0)


def test_one_result_above_the_limit_is_above(accepted):
    """A mean of both is no limit."""
    same = {"analyte": "methanol", "unit": "g/hL pa"}
    (row,) = accepted(same | {"value": 2.0, "below_limit": True}, same | {"value": 4.0}).values()

    assert row["below_limit"] is False


def test_replicates_of_one_instrument_share_most_of_its_error(accepted):
    """u of 0.2 % vol, six tenths of it of the single result: 0.12 / sqrt(4) and 0.16, together 0.1709; its own part is
    0.06 of that (JCGM 100:2008, 4.2.3)."""
    row = accepted(*strengths(40.0, 40.0, 40.0, 40.0, instrument="VOL"))["strength"]

    assert row["u_value"] == pytest.approx((0.06**2 + 0.16**2) ** 0.5)
    assert row["scatter"] == pytest.approx(0.06 / (0.06**2 + 0.16**2) ** 0.5)
    assert row["instrument"] == "VOL"


def test_two_instruments_share_nothing(accepted):
    """0.2 and the profile's 0.08 % vol: own parts of 0.12 and 0.048, shared ones of 0.16 and 0.064, each of them added
    in squares over two results."""
    row = accepted(*strengths(40.0, instrument="VOL"), *strengths(40.0))["strength"]
    own = (0.12**2 + 0.048**2) ** 0.5 / 2

    assert row["u_value"] == pytest.approx((own**2 + (0.16**2 + 0.064**2) / 4) ** 0.5)
    assert row["scatter"] == pytest.approx(own / row["u_value"])


def test_a_density_becomes_a_strength(accepted):
    """948.05 kg/m3 at 20 °C is 40.0 % vol (OIML R 22, Table IVa). By no instrument it is known to 0.05 kg/m3, and the
    cell to 0.02 °C; where nothing else is said it was measured directly."""
    row = accepted({"analyte": "density", "unit": "kg/m3", "value": 948.05, "temperature_c": 20.0})["strength"]
    low, high = (density(mass_fraction_of_strength(40.0 + step), 20.0) for step in (-0.1, 0.1))
    warm, cold = (density(mass_fraction_of_strength(40.0), 20.0 + step) for step in (0.5, -0.5))
    u = (0.05**2 + (0.02 * (cold - warm)) ** 2) ** 0.5 / ((low - high) / 0.2)

    assert (row["unit"], row["preparation"]) == ("pct_vol", "direct")
    assert row["value"] == pytest.approx(40.0, abs=0.01)
    assert row["u_value"] == pytest.approx(u, rel=0.01)


def test_a_gravity_in_plato_becomes_one(accepted):
    """12 °Plato are 1.0484 (ASBC table, from memory); one in SG stays as it is."""
    same = {"analyte": "specific_gravity"}
    row = accepted(same | {"unit": "plato", "value": 12.0}, same | {"unit": "sg", "value": 1.0484})["specific_gravity"]

    assert (row["unit"], row["replicates"]) == ("sg", 2)
    assert row["value"] == pytest.approx(1.0484, abs=1e-4)


def test_congeners_are_told_of_pure_alcohol(accepted):
    """500 mg/L at 40 % vol are 0.5 g in 0.4 L: 125 g/hL of pure alcohol. 500 mg/kg in a liquid of 0.94805 kg/L are
    474.0 mg/L. Without a strength the litre's is kept alone."""
    rows = accepted(
        *strengths(40.0), {"analyte": "methanol", "unit": "mg/L", "value": 500.0},
        {"analyte": "ethyl_carbamate", "unit": "mg/kg", "value": 500.0},
        {"analyte": "furfural", "unit": "mg/L", "value": 500.0, "lot": "B"},
    )  # fmt: skip

    assert rows["methanol"]["per_alcohol_g_hl"] == pytest.approx(125.0)
    assert (rows["ethyl_carbamate"]["unit"], rows["ethyl_carbamate"]["value"]) == (
        "mg/L",
        pytest.approx(474.0, abs=0.1),
    )
    assert (rows["furfural"]["value"], rows["furfural"]["per_alcohol_g_hl"]) == (500.0, None)
    assert rows["strength"]["per_alcohol_g_hl"] is None
