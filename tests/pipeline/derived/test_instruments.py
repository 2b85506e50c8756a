"""Uncertainties of readings and results by their instruments, against slopes of the formula of OIML R 22."""

import polars as pl
import pytest
from r22_formula import density, mass_fraction_of_strength
from small_house import HOUSE, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.instruments import u_of_readings, u_of_results
from gaugebook.pipeline.house.settings import parse_house
from gaugebook.pipeline.intake.flow import receive

INSTRUMENTS = """
[[instruments]]
code = "GRAM"
kind = "density meter"
name = "Density meter in g/cm3"
u = 0.0001
unit = "g/cm3"

[[instruments]]
code = "PROOF"
kind = "alcoholmeter"
name = "Proof hydrometer"
u = 0.3
unit = "us_proof"

[[instruments]]
code = "VOL"
kind = "alcoholmeter"
name = "Alcoholmeter"
u = 0.2
unit = "pct_vol"

[[instruments]]
code = "BAL"
kind = "balance"
name = "Balance"
u = 0.2
unit = "kg"

[[instruments]]
code = "GC"
kind = "chromatograph"
name = "Chromatograph"
u = 0.01
unit = "g/hL pa"
u_relative_pct = 2.0

[[instruments]]
code = "SPINDLE"
kind = "hydrometer"
name = "Gravity spindle"
u = 0.0005
unit = "sg"
"""
PROFILE = parse_house(HOUSE + INSTRUMENTS, "house.toml")


def slope(strength: float, t: float = 20.0) -> float:
    """Density's fall per % vol at this strength [kg/m3 per % vol], by a difference of 0.2 % vol."""
    low, high = (density(mass_fraction_of_strength(strength + step), t) for step in (-0.1, 0.1))
    return (low - high) / 0.2


def _of_reading(kind: str, reading: float, instrument: str) -> float | None:
    rows = pl.DataFrame(
        {
            "strength_reading": [reading],
            "reading_kind": [kind],
            "reading_temperature_c": [20.0],
            "instrument": [instrument],
        }
    )
    return u_of_readings(rows, PROFILE).item()


@pytest.mark.parametrize(
    ("kind", "reading", "instrument", "expected"),
    [
        ("pct_vol_20c", 40.0, "DM", 0.05 / slope(40.0)),  # 0.05 kg/m3, once taken for 0.05 % vol
        ("pct_vol_20c", 96.0, "DM", 0.05 / slope(96.0)),
        ("alcoholmeter", 62.0, "GRAM", 0.1 / slope(62.0)),
        ("density", 948.05, "GRAM", 0.1),  # once 0.0001 kg/m3
        ("density", 948.05, "VOL", 0.2 * slope(40.0)),
        ("us_proof_60f", 125.0, "PROOF", 0.15),  # once 0.3 % vol; 27 CFR 5.1: proof is twice % vol, here to 0.4 %
        ("us_proof_60f", 125.0, "VOL", 0.2),
        ("us_proof_60f", 80.0, "DM", 0.05 / slope(40.07)),
        ("pct_vol_20c", 40.0, "SPINDLE", 0.0005 * 998.2 / slope(40.0)),
        ("us_proof_hydrometer", 120.0, "PROOF", 0.3),  # in proof, as it is read
    ],
)
def test_a_reading_is_as_uncertain_as_its_instrument(kind, reading, instrument, expected):
    """In % vol, or kg/m3 where a density was read, by the slope of density at that strength."""
    assert _of_reading(kind, reading, instrument) == pytest.approx(expected, rel=5e-3)


@pytest.mark.parametrize("instrument", ["BAL", "GC", "UNKNOWN"])
def test_what_reads_no_strength_says_nothing_of_one(instrument):
    """NaN: the house's general uncertainty is taken."""
    assert _of_reading("pct_vol_20c", 40.0, instrument) != _of_reading("pct_vol_20c", 40.0, instrument)


@pytest.mark.parametrize(
    ("value", "unit", "instrument", "expected"),
    [
        (1298.0, "g/hL pa", "GC", 25.96),  # 2 % of it; 0.01 beside it is nothing
        (0.02, "g/hL pa", "GC", 0.01001),  # near the limit of quantification the constant part rules
        (519.2, "mg/L", "GC", 10.384),  # 1298 g/hL of pure alcohol at 40 % vol, Regulation (EC) 2870/2000
        (40.0, "pct_vol", "DM", 0.05 / slope(40.0)),
        (1.0600, "sg", "DM", 0.05 / 998.2),
        (12.0, "g/L", "GC", 0.24),
        (12.0, "g/L", "BAL", None),
    ],
)
def test_a_result_is_as_uncertain_as_its_instrument(value, unit, instrument, expected):
    """In the unit of the result; EURACHEM/CITAC CG 4, E.5, for the part that grows with it."""
    results = pl.DataFrame(
        {"value": [value], "unit": [unit], "instrument": [instrument], "lot_strength_pct_vol": [40.0]}
    ).with_columns(temperature_c=pl.lit(None, pl.Float64))
    u = u_of_results(results, PROFILE).item()
    assert (u == pytest.approx(expected, rel=5e-3)) if expected else u != u


@pytest.mark.parametrize(
    ("unit", "value", "instrument", "expected"),
    [
        ("kg/m3", density(mass_fraction_of_strength(40.0), 35.0), "VOL", 0.2 * slope(40.0, 35.0)),
        ("pct_vol", 40.0, "DM", 0.05 / slope(40.0)),  # a strength is that at 20 °C, whenever it was measured
    ],
)
def test_a_density_has_the_slope_of_its_temperature(unit, value, instrument, expected):
    """At 35 °C it falls more for each % vol than at 20 °C: results and readings alike."""
    results = pl.DataFrame(
        {"value": [value], "unit": [unit], "instrument": [instrument], "lot_strength_pct_vol": [None]},
        schema_overrides={"lot_strength_pct_vol": pl.Float64},
    ).with_columns(temperature_c=35.0)
    readings = pl.DataFrame(
        {
            "strength_reading": [value], "reading_kind": ["density" if unit == "kg/m3" else "pct_vol_20c"],
            "reading_temperature_c": [35.0], "instrument": [instrument],
        }
    )  # fmt: skip

    assert slope(40.0, 35.0) > 1.03 * slope(40.0)
    assert u_of_results(results, PROFILE).item() == pytest.approx(expected, rel=5e-3)
    assert u_of_readings(readings, PROFILE).item() == pytest.approx(expected, rel=5e-3)


def test_the_book_has_them(tmp_path):
    """A gauge and a congener in mg/L of the small house, from files to the derived tables."""
    write_house(
        tmp_path / "site",
        {
            "lab.csv": """
                sample;lot;analyte;value;unit;t;rep;instrument
                L1;RED-L1;strength;40,0;pct_vol;;1;DM
                L2;RED-L1;methanol;519,2;mg/L;;1;GC
                L3;HEADS-1;methanol;519,2;mg/L;;1;GC
            """
        },
    )
    profile = tmp_path / "site" / "house.toml"
    profile.write_text(profile.read_text() + INSTRUMENTS)
    moves = tmp_path / "site" / "maps" / "moves.toml"
    moves.write_text(
        moves.read_text().replace("[records.columns]", '[records.constants]\ninstrument = "GRAM"\n[records.columns]')
    )

    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book") as book:
        u = dict(book.frame("SELECT lot || ' ' || analyte, u_value FROM derived.laboratory").rows())
        u_hearts = book.value(
            "SELECT u_strength_pct_vol FROM derived.gauges WHERE lot = 'SPIRIT-1' AND direction = 'out'"
        )
    assert u["RED-L1 strength"] == pytest.approx(0.05 / slope(40.0), rel=5e-3)
    assert u["RED-L1 methanol"] == pytest.approx(10.384, rel=5e-3)
    assert u["HEADS-1 methanol"] is None  # of a lot whose strength the laboratory did not find
    assert u_hearts == pytest.approx(0.1 / slope(80.0), rel=5e-3)
