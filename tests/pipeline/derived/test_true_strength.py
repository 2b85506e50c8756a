"""True, estimated and apparent strength of liquids with extract. Every house here is made up."""

from collections.abc import Callable
from itertools import count

import pytest
from small_books import small_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.obscuration import EXTRACT_VOLUME_ML_PER_G
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

RUNS = """
    BLE-1,blend,T1,,,2026-01-12 10:00,2026-01-12 16:00,AB
    FIL-1,filter,T1,,,2026-01-13 10:00,2026-01-13 16:00,AB
    REC-1,rectify,S1,,,2026-01-14 10:00,2026-01-14 16:00,AB
"""


def liquid_kg_m3(true_pct_vol: float, extract_g_l: float) -> float:
    """Density at 20 °C of a liquid with extract, by additive volumes."""
    free = 1.0 - extract_g_l * EXTRACT_VOLUME_ML_PER_G / 1000.0
    return float(density(mass_fraction_from_volume_strength(true_pct_vol / free), 20.0)) * free + extract_g_l


@pytest.fixture
def gauge_of(tmp_path) -> Callable[..., dict]:
    """The row of one lot in a book of its own with these gauges and results: gauge_of(moves, lab, "L-1")."""
    number = count()

    def of(moves: str, lab: str, lot: str, table: str = "derived.gauges", more: str = "") -> dict:
        with open_book(small_book(tmp_path / f"{next(number)}", RUNS, moves, lab)) as book:
            return book.frame(f"SELECT * FROM {table} WHERE lot = ? {more}", [lot]).row(0, named=True)

    return of


def blended(reading: str, brings: str = "BLE-1,in,SUGAR-1,sweetening,,,,,,,2,") -> str:
    spirit = "BLE-1,in,NS-1,spirit,T1,50,20,80,pct_vol_20c,,,distilled"
    return f"{brings}\n{spirit}\nBLE-1,out,L-1,liquid,T1,100,20,{reading}"


def test_a_known_extract_gives_the_true_strength_with_its_uncertainty(gauge_of) -> None:
    """With 20 g/L, 39.5 % vol is booked as 39.5, not as the 34.5 that its density shows, and
    its uncertainty covers the rule of 27 CFR 30.32(b) (1.0 % vol for 5 g/L, so 4.0 for 20)."""
    rho = liquid_kg_m3(39.5, 20.0)
    row = gauge_of(blended(f"{rho:.2f},density,20,,"), "S1;L-1;dry_extract;20,0;g/L;;1;;", "L-1")

    assert row["strength_is"] == "estimated"
    assert row["strength_pct_vol"] == pytest.approx(39.5, abs=0.02)
    assert row["alcohol_l"] == pytest.approx(39.5, abs=0.02)
    by_rule = 34.47 + 4.0
    assert row["strength_pct_vol"] - by_rule < 2 * row["u_strength_pct_vol"]
    assert 0.5 < row["u_strength_pct_vol"] < 1.0
    assert row["u_alcohol_l"] > 0.5


def test_glass_is_corrected_as_density_is(gauge_of) -> None:
    """An alcoholmeter floats in the same liquid: what it shows at 20 °C is the strength of that density."""
    row = gauge_of(blended("34.47,alcoholmeter,20,,"), "S1;L-1;dry_extract;20,0;g/L;;1;;", "L-1")

    assert (row["strength_is"], row["strength_from"]) == ("estimated", "alcoholmeter")
    assert row["strength_pct_vol"] == pytest.approx(39.5, abs=0.02)


def test_a_liqueur_denser_than_water_is_booked(gauge_of) -> None:
    """24 % vol with 300 g/L: no mixture of ethanol and water has its density, the liqueur has."""
    rho = liquid_kg_m3(24.0, 300.0)
    row = gauge_of(blended(f"{rho:.2f},density,20,,"), "S1;L-1;dry_extract;300;g/L;;1;;", "L-1")

    assert (row["strength_is"], row["not_computed"]) == ("estimated", None)
    assert row["strength_pct_vol"] == pytest.approx(24.0, abs=0.02)


def test_a_weighed_liquid_is_as_heavy_as_it_is(gauge_of) -> None:
    """100 L of it weigh what its density says (in air 1.06 kg/m3 less), so weighing gives 100 L back."""
    rho = liquid_kg_m3(39.5, 20.0)
    moves = blended(f"{rho:.2f},density,20,,").replace("T1,100,20,", "T1,,,")
    row = gauge_of(moves.replace("density,20,,", f"density,20,{100 * (rho - 1.06) / 1000:.3f},"),
                   "S1;L-1;dry_extract;20,0;g/L;;1;;", "L-1")  # fmt: skip

    assert row["volume_l"] == pytest.approx(100.0, abs=0.02)


@pytest.mark.parametrize(
    "brings",
    [
        "BLE-1,in,SUGAR-1,sweetening,,,,,,,2,",
        "BLE-1,in,QUINCE-1,fruit,,,,,,,20,",
        "BLE-1,in,PEEL-1,botanical,,,,,,,2,",
    ],
)
def test_an_unknown_extract_makes_litres_apparent(gauge_of, brings) -> None:
    """Sugar, fruit or botanicals went in and nobody measured the extract: booked as read, and said to be apparent."""
    row = gauge_of(blended("948.05,density,20,,", brings), "", "L-1")

    assert row["strength_is"] == "apparent"
    assert row["strength_pct_vol"] == pytest.approx(40.0, abs=0.01)


def test_without_anything_dissolved_a_reading_is_true(gauge_of) -> None:
    """Spirit alone: as before."""
    row = gauge_of(blended("948.05,density,20,,", "BLE-1,in,WATER,water,,50,20,,,,,"), "", "L-1")

    assert row["strength_is"] == "true"


def test_a_stated_strength_is_true_only_if_it_was_distilled(gauge_of) -> None:
    """% vol at 20 °C may come from a density meter as from a distillate; nobody said which."""
    assert gauge_of(blended("40,pct_vol_20c,,,"), "", "L-1")["strength_is"] == "apparent"


def test_a_gauge_after_distillation_is_true(gauge_of) -> None:
    """The sheet says that the sample was distilled."""
    row = gauge_of(blended("40,pct_vol_20c,,,distilled"), "", "L-1")

    assert (row["strength_is"], row["strength_pct_vol"]) == ("true", 40.0)


def test_the_laboratory_s_distillate_replaces_an_apparent_reading(gauge_of) -> None:
    """As with a known extract: 39.5 % vol of the distillate, not the glass's 35."""
    row = gauge_of(blended("35,alcoholmeter,20,,"), "S1;L-1;strength;39,5;pct_vol;;1;DM;distilled", "L-1")

    assert (row["strength_is"], row["strength_from"], row["strength_pct_vol"]) == ("true", "laboratory", 39.5)


def test_the_laboratory_s_direct_reading_does_not_pass_for_true(gauge_of) -> None:
    """A density meter in the laboratory is blind too; of both readings the distillate's alone is taken."""
    direct = "S1;L-1;strength;35,0;pct_vol;;1;DM;direct"
    assert gauge_of(blended("35,alcoholmeter,20,,"), direct, "L-1")["strength_is"] == "apparent"

    both = f"{direct}\nS2;L-1;strength;39,5;pct_vol;;1;DM;distilled"
    row = gauge_of(blended("35,alcoholmeter,20,,"), both, "L-1")
    assert (row["strength_is"], row["strength_pct_vol"]) == ("true", 39.5)


def test_what_may_be_dissolved_is_passed_on_until_distillation(gauge_of) -> None:
    """Sugar of the blend is in the filtrate; in the hearts it is not, in what the still left it is."""
    moves = (
        blended("40,alcoholmeter,20,,")
        + """
FIL-1,in,L-1,liquid,T1,100,20,40,alcoholmeter,20,,
FIL-1,out,L-2,liquid,T1,100,20,40,alcoholmeter,20,,
REC-1,in,L-2,liquid,T1,100,20,40,alcoholmeter,20,,
REC-1,out,L-3,hearts,T1,45,20,85,alcoholmeter,20,,
REC-1,out,L-4,spent,T1,55,20,1,alcoholmeter,20,,"""
    )
    found = {
        lot: gauge_of(moves, "", lot, more="AND direction = 'out'")["strength_is"] for lot in ("L-2", "L-3", "L-4")
    }

    assert found == {"L-2": "apparent", "L-3": "true", "L-4": "apparent"}


def test_a_lot_measured_clean_passes_nothing_on(gauge_of) -> None:
    """0.3 g/L hide less than a tenth: the lot and what is made of it are true."""
    moves = blended("40,alcoholmeter,20,,") + (
        "\nFIL-1,in,L-1,liquid,T1,100,20,40,alcoholmeter,20,,\nFIL-1,out,L-2,liquid,T1,100,20,40,alcoholmeter,20,,"
    )
    clean = "S1;L-1;dry_extract;0,3;g/L;;1;;"

    assert gauge_of(moves, clean, "L-1")["strength_is"] == "true"
    assert gauge_of(moves, clean, "L-2")["strength_is"] == "true"


def test_wood_counts_from_the_cask_on(gauge_of) -> None:
    """Filled into oak the spirit is what the still made; drawn from it, it may hold wood."""
    moves = """
        REC-1,out,L-1,hearts,C1,100,20,60,alcoholmeter,20,,
        BLE-1,in,L-1,spirit,C1,98,20,59,alcoholmeter,20,,
        BLE-1,out,L-2,spirit,T1,98,20,59,alcoholmeter,20,,
    """
    assert gauge_of(moves, "", "L-1", more="AND direction = 'out'")["strength_is"] == "true"
    assert gauge_of(moves, "", "L-1", more="AND direction = 'in'")["strength_is"] == "apparent"
    assert gauge_of(moves, "", "L-2")["strength_is"] == "apparent"


def test_wash_by_glass_is_apparent_and_by_statement_true(gauge_of) -> None:
    """Nobody reads a wash's strength on glass by % vol; what is stated comes from distillation (common practice)."""
    wash = "REC-1,in,WASH-1,wash,T1,100,20,{},,\nREC-1,out,L-9,hearts,T1,9,20,90,alcoholmeter,20,,"

    # the wash came of a ferment that is not on record; its part says what it is
    assert gauge_of(wash.format("9,pct_vol_20c,"), "", "WASH-1")["strength_is"] == "true"
    assert gauge_of(wash.format("985,density,20"), "", "WASH-1")["strength_is"] == "apparent"
