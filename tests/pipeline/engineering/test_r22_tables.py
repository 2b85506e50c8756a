"""Every kind of table of OIML R 22 regenerated, against the formula written term by term."""

import numpy as np
import pytest
import r22_formula as plain

from gaugebook.pipeline.engineering.r22_tables import R22_TABLES, r22_cells

E20 = plain.density(1.0, 20.0)
SODA_LIME, BOROSILICATE, STEEL = 25e-6, 10e-6, 36e-6


def _read(rho: float, t: float, glass: float) -> float:
    return plain.mass_fraction_of_density(rho * (1.0 - glass * (t - 20.0)), t)


def _alcohol_in_100_l(p: float, t: float) -> float:
    return 100.0 * (1.0 + STEEL * (t - 20.0)) * p * plain.density(p, t) / E20


def _alcohol_in_100_kg(p: float, t: float) -> float:
    # as Table XII has it, shortened to first order in the density of air
    return 100.0 * p * 1000.0 / E20 * (1.0 - 1.2 * (1.0 / 8000.0 - 1.0 / plain.density(p, t)))


def _of(q: float) -> float:
    return plain.mass_fraction_of_strength(q)


PLAIN = {
    "I": lambda w, t: plain.density(w / 100.0, t),
    "II": lambda q, t: plain.density(_of(q), t),
    "IIIa": lambda w: plain.density(w / 100.0, 20.0),
    "IIIb": lambda w: plain.strength(w / 100.0),
    "IVa": lambda q: plain.density(_of(q), 20.0),
    "IVb": lambda q: 100.0 * _of(q),
    "Va": lambda rho: 100.0 * plain.mass_fraction_of_density(rho, 20.0),
    "Vb": lambda rho: plain.strength(plain.mass_fraction_of_density(rho, 20.0)),
    "VI": lambda rho, t: 100.0 * plain.mass_fraction_of_density(rho, t),
    "VII": lambda rho, t: plain.strength(plain.mass_fraction_of_density(rho, t)),
    "VIIIa": lambda w, t: 100.0 * _read(plain.density(w / 100.0, 20.0), t, SODA_LIME),
    "VIIIb": lambda q, t: plain.strength(_read(plain.density(_of(q), 20.0), t, SODA_LIME)),
    "IXa": lambda rho, t: 100.0 * _read(rho, t, SODA_LIME),
    "IXb": lambda rho, t: plain.strength(_read(rho, t, SODA_LIME)),
    "Xa": lambda rho, t: 100.0 * _read(rho, t, BOROSILICATE),
    "Xb": lambda rho, t: plain.strength(_read(rho, t, BOROSILICATE)),
    "XIa": lambda w, t: _alcohol_in_100_l(w / 100.0, t),
    "XIb": lambda q, t: _alcohol_in_100_l(_of(q), t),
    "XIIa": lambda w, t: _alcohol_in_100_kg(w / 100.0, t),
    "XIIb": lambda q, t: _alcohol_in_100_kg(_of(q), t),
}

STRENGTHS = [6.0, 12.0, 23.5, 38.0, 41.0, 56.0, 63.0, 70.0, 78.5, 86.0, 91.0, 94.0]  # made up
DENSITIES = [805.0, 826.0, 847.0, 868.0, 889.0, 905.0, 920.0, 935.0, 950.0, 960.0, 970.0, 978.0]  # made up
TEMPERATURES = [2.0, 11.5, 27.0]  # made up


def test_all_twelve_kinds_are_there() -> None:
    """The twelve tables, a and b counted once, can all be produced."""
    assert {kind.rstrip("ab") for kind in R22_TABLES} == {
        "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII",
    }  # fmt: skip


@pytest.mark.parametrize("kind", R22_TABLES)
def test_rows_are_regenerated(kind: str) -> None:
    """At 12 rows a table's cells equal the plain formula, to half the last printed digit."""
    table = R22_TABLES[kind]
    margin = DENSITIES if "kg/m3" in table.margins[0] else STRENGTHS
    columns = TEMPERATURES if len(table.margins) == 2 else None

    cells = r22_cells(kind, margin, columns).reshape(len(margin), -1)

    expected = np.array([[PLAIN[kind](m, *([t] if columns else [])) for t in columns or [20.0]] for m in margin])
    last_digit = 0.5 * 10.0**-table.decimals
    # the first-order form of Table XII leaves out the square of the air's density: 1e-6 of the value
    np.testing.assert_allclose(cells, expected, rtol=2e-6, atol=last_digit * 1.001)


def test_a_cell_below_the_freezing_line_is_empty() -> None:
    """A table has no density of ice."""
    assert np.isnan(r22_cells("I", [5.0], [-10.0])).all()


@pytest.mark.parametrize(("kind", "columns"), [("XIII", None), ("I", None), ("IIIa", [20.0])])
def test_a_wrong_table_or_margin_is_refused(kind: str, columns: list[float] | None) -> None:
    """An unknown kind, a missing margin and one too many each say so."""
    with pytest.raises(ValueError, match=r"no table|margins"):
        r22_cells(kind, [10.0], columns)


@pytest.mark.parametrize("kind", R22_TABLES)
def test_cells_have_the_decimals_that_are_printed(kind: str) -> None:
    """Readings of the alcoholmeter to one decimal, all else to two (OIML R 22): neither more nor fewer."""
    decimals = 1 if kind.startswith("VIII") else 2
    table = R22_TABLES[kind]
    margin = np.array(DENSITIES if "kg/m3" in table.margins[0] else STRENGTHS)

    cells = r22_cells(kind, margin, TEMPERATURES if len(table.margins) == 2 else None)

    np.testing.assert_allclose(cells, np.round(cells, decimals), atol=1e-9)
    assert (np.abs(cells - np.round(cells, decimals - 1)) > 1e-9).any()


def test_a_table_says_what_it_gives_and_of_what() -> None:
    """The number of margins is that of the standard: Tables III, IV and V are of 20 °C alone."""
    for kind, table in R22_TABLES.items():
        assert (len(table.margins) == 1) == (kind.rstrip("ab") in ("III", "IV", "V"))
        assert ("temperature, °C" in table.margins) == (len(table.margins) == 2)
    with pytest.raises(ValueError, match=r"table I has the margins strength, % mass and temperature, °C"):
        r22_cells("I", [10.0])
