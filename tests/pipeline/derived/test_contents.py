"""What certificates say, each in its way, on lots of round numbers; the values are worked out beside each case."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.contents import contents

ETHANOL_KG_L = 0.789239  # OIML R 22 (1975), as all litres here
HEXOSE, DISACCHARIDE, STARCH = (g / ETHANOL_KG_L for g in (0.5114, 0.5383, 0.5683))  # Gay-Lussac [L/kg]


def content_of(book: Book, put, **certificate: Any) -> dict[str, Any]:
    """What the book makes of one lot's certificate."""
    put("typed.intake", lot="L", material="M", kind="sugar", received_at="2031-01-01", quantity_kg=100.0, source_id=1,
        line=2, **certificate)  # fmt: skip
    contents(book)
    (row,) = book.frame("SELECT * FROM derived.contents").to_dicts()
    return row


CASES = {
    # 80 % extract of a malt of 5 % moisture: 0.76 kg; 6.06 L/t for each per cent (Bringhurst et al. 1996)
    "extract": ({"extract_pct": 80.0, "moisture_pct": 5.0}, "extract", 0.76, 0.76 * DISACCHARIDE, 0.76 * 0.606),
    "total sugars": ({"total_sugars_pct": 52.0, "brix": 80.0}, "total sugars", 0.52, 0.52 * HEXOSE, 0.52 * HEXOSE),
    # they hold the sucrose too, so nothing is added
    "total beside single": (
        {"total_sugars_pct": 52.0, "sucrose_pct": 33.0, "reducing_sugars_pct": 17.0}, "total sugars", 0.52,
        0.52 * HEXOSE, 0.52 * HEXOSE,
    ),
    # 18 °Brix of 85 % purity: 15.3 % sucrose, and 0.6 % reducing sugars
    "purity": (
        {"brix": 18.0, "purity_pct": 85.0, "reducing_sugars_pct": 0.6}, "sugars", 0.159,
        0.153 * DISACCHARIDE + 0.006 * HEXOSE, 0.153 * DISACCHARIDE + 0.006 * HEXOSE,
    ),
    # a sucrose that was measured goes before one by purity
    "sucrose": (
        {"brix": 18.0, "purity_pct": 85.0, "sucrose_pct": 15.0}, "sugars", 0.15, 0.15 * DISACCHARIDE,
        0.15 * DISACCHARIDE,
    ),
    "lactose": ({"lactose_pct": 14.0}, "sugars", 0.14, 0.14 * DISACCHARIDE, 0.14 * DISACCHARIDE),
    "starch": ({"starch_pct": 62.0}, "sugars", 0.62, 0.62 * STARCH, 0.62 * STARCH),
    "fructan": ({"fructan_pct": 25.0}, "sugars", 0.25, 0.25 * STARCH, 0.25 * STARCH),
    # 70 L of juice of 100 kg, 110 g in a litre: 77 g/kg
    "pressed": ({"sugar_g_l": 110.0, "juice_l_per_100kg": 70.0}, "juice", 0.077, 0.077 * HEXOSE, 0.077 * HEXOSE),
    # 20 °P weighs 1.0810 kg/L: 200 g/L of sugar are 185.0 g/kg; of 216.2 g/L dissolved, less 25: 191.2 g/L, 176.9 g/kg
    "juice": ({"sugar_g_l": 200.0, "brix": 20.0}, "juice", 0.18502, 0.18502 * HEXOSE, 0.18502 * HEXOSE),
    "must": ({"sugar_free_extract_g_l": 25.0, "brix": 20.0}, "must", 0.17687, 0.17687 * HEXOSE, 0.17687 * HEXOSE),
    # 12 % vol of 16.83 g/L each: 201.96 g/L
    "potential alcohol": (
        {"potential_alcohol_pct_vol": 12.0, "brix": 20.0}, "must", 0.18683, 0.18683 * HEXOSE, 0.18683 * HEXOSE,
    ),
    # Balling: 2.0665 g of extract for 1 g of alcohol
    "solids": ({"brix": 80.0}, "solids", 0.8, 0.8 * DISACCHARIDE, 0.8 / 2.0665 / ETHANOL_KG_L),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_each_way_of_saying_it(empty_book, put, name):
    """Basis, fermentable matter, and alcohol by theory and by practice of a kilogram as received."""
    certificate, basis, kg, possible, predicted = CASES[name]

    row = content_of(empty_book, put, **certificate)

    assert (row["basis"], row["not_known"]) == (basis, None)
    assert row["fermentable_kg_per_kg"] == pytest.approx(kg, rel=2e-4)
    assert row["possible_l_per_kg"] == pytest.approx(possible, rel=2e-4)
    assert row["predicted_l_per_kg"] == pytest.approx(predicted, rel=2e-4)


@pytest.mark.parametrize(
    ("certificate", "why"),
    [
        ({}, "no certificate"),
        ({"extract_pct": 80.0}, "extract without moisture"),
        ({"purity_pct": 85.0}, "no certificate"),
        # 86 % as invert are 81.7 % as sucrose, and 78 % are dissolved in all
        ({"total_sugars_pct": 86.0, "brix": 78.0}, "more sugar than solids"),
        ({"sugar_g_l": 200.0}, "no certificate"),  # neither a juice's density nor what is pressed of the fruit
    ],
)
def test_what_is_not_known_is_null_and_says_why(empty_book, put, certificate, why):
    """Nothing is taken for nothing, and what cannot be is not believed."""
    row = content_of(empty_book, put, **certificate)

    assert row["not_known"] == why
    known = ("basis", "fermentable_kg_per_kg", "possible_l_per_kg", "predicted_l_per_kg")
    assert all(row[name] is None for name in known)


@pytest.mark.parametrize(
    ("said", "fermentability"),
    [
        ({"fermentability_pct": 86.0}, 0.86),
        ({"original_gravity": 1.06, "final_gravity": 0.998}, 0.814 * 62 / 60),  # Bringhurst et al. (1996)
        ({"fermentability_pct": 86.0, "original_gravity": 1.06, "final_gravity": 0.998}, 0.86),
        ({}, None),
    ],
)
def test_fermentability_of_a_malt(empty_book, put, said, fermentability):
    """As certified, else by the gravities of the laboratory's wort."""
    row = content_of(empty_book, put, extract_pct=80.0, moisture_pct=5.0, **said)

    assert row["fermentability"] == (None if fermentability is None else pytest.approx(fermentability))


def test_a_lot_that_came_in_parts_has_the_first_certificate(empty_book, put):
    """A second delivery without a certificate takes nothing away; opening stock counts as a delivery does."""
    common = {"lot": "L", "material": "molasses", "kind": "sugar", "source_id": 1}
    put("typed.intake", **common, line=2, received_at="2031-01-01", quantity_kg=50.0)
    put("typed.intake", **common, line=3, received_at="2031-01-05", quantity_kg=50.0, total_sugars_pct=51.0)
    put("typed.opening_stock", **common | {"lot": "O"}, line=4, counted_at="2031-01-01", mass_kg=9.0, brix=79.0)

    contents(empty_book)

    rows = {row["lot"]: row for row in empty_book.frame("SELECT * FROM derived.contents").to_dicts()}
    assert (rows["L"]["fermentable_kg_per_kg"], rows["L"]["line"]) == (pytest.approx(0.51), 3)
    assert rows["O"]["basis"] == "solids"


def test_what_is_no_material_has_no_content(empty_book, put):
    """Glass, water and spirit need no certificate."""
    for number, kind in enumerate(("packaging", "water", "neutral spirit", "botanical")):
        put("typed.intake", lot=kind, material=kind, kind=kind, received_at="2031-01-01", source_id=1, line=number)

    contents(empty_book)

    assert empty_book.value("SELECT count(*) FROM derived.contents") == 0


@settings(max_examples=30, deadline=None)
@given(brix=st.floats(1.0, 39.0), purity=st.floats(0.0, 100.0), reducing=st.floats(0.0, 1.0))
def test_practice_never_passes_theory(brix: float, purity: float, reducing: float) -> None:
    """Whatever a juice's certificate says, no more is predicted than possible, and sugar is a part of the solids."""
    import duckdb
    from by_hand import put_row

    from tests.pipeline.conftest import SCHEMAS

    with duckdb.connect() as connection:
        book = Book(connection, SCHEMAS[0].parent)
        for schema in SCHEMAS:
            book.run_file(schema)
        put_row(book, "typed.intake", lot="L", material="M", kind="sugar", received_at="2031-01-01", source_id=1,
                line=2, brix=brix, purity_pct=purity, reducing_sugars_pct=reducing)  # fmt: skip
        contents(book)
        (row,) = book.frame("SELECT * FROM derived.contents").to_dicts()
    if row["not_known"] is None:
        assert 0 <= row["predicted_l_per_kg"] <= row["possible_l_per_kg"] * (1 + 1e-12)
        assert row["fermentable_kg_per_kg"] <= 1.03 * brix / 100
