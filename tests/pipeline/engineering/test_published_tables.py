"""Printed cells of official and handbook tables, each within the tolerance that stands beside it."""

import json
from collections.abc import Callable

import pytest
from reference import rows

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.r22_tables import R22_TABLES
from gaugebook.pipeline.engineering.specific_gravity import specific_gravity
from gaugebook.pipeline.engineering.strength import (
    mass_fraction_from_density,
    mass_fraction_from_us_proof,
    mass_fraction_from_volume_strength,
    strength_from_density,
    strength_from_us_proof,
    us_proof_from_strength,
    volume_strength_from_mass_fraction,
)
from gaugebook.pipeline.engineering.us_gauging import (
    proof_from_hydrometer,
    proof_gallons_from_pounds,
    volume_factor_to_60f,
    water_in_100_volumes,
    wine_gallons_from_pounds,
)

PUBLISHED = rows("ethanol_water_tables.csv")
SIXTY_F = (60.0 - 32.0) / 1.8

# Kinds whose columns are not those of OIML R 22.
OTHER_KINDS: dict[str, Callable[..., float]] = {
    "OIV-I": R22_TABLES["II"].cell,
    # Handbooks of before 1964 print g/mL with 1 mL = 1.000028 cm3.
    "Perry-20C": lambda w: density(w / 100.0, 20.0) * 1.000028 / 1000.0,
    "USP-w": lambda v60: 100.0 * mass_fraction_from_us_proof(2.0 * v60),
    "USP-s": lambda v60: specific_gravity(strength_from_us_proof(2.0 * v60), SIXTY_F),
    "USP-s25": lambda v60: specific_gravity(strength_from_us_proof(2.0 * v60), 25.0),
    "USP-v": lambda w: us_proof_from_strength(volume_strength_from_mass_fraction(w / 100.0)) / 2.0,
    "CFR30-T1": proof_from_hydrometer,
    "CFR30.23": proof_from_hydrometer,
    "CFR30-T7": volume_factor_to_60f,
    "CFR30-T4-WG": lambda proof: wine_gallons_from_pounds(1.0, proof),
    "CFR30-T4-PG": lambda proof: proof_gallons_from_pounds(1.0, proof),
    "CFR30.41": lambda proof: wine_gallons_from_pounds(1.0, proof),
    "SDA": lambda: 1.0 / wine_gallons_from_pounds(1.0, 0.0),
    "CFR30-T3": lambda proof, lb: proof_gallons_from_pounds(lb, proof),
    "CFR30-T6": water_in_100_volumes,
}


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["id"])
def test_a_printed_cell_is_met_within_its_tolerance(row: dict[str, str]) -> None:
    """Each printed cell comes out within its rounding and the stated difference of basis."""
    cell = OTHER_KINDS[row["kind"]] if row["kind"] in OTHER_KINDS else R22_TABLES[row["kind"]].cell

    found = cell(*json.loads(row["inputs"]).values())

    assert found == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def _printed(kind: str) -> list[tuple[list[float], float]]:
    return [(list(json.loads(r["inputs"]).values()), float(r["expected"])) for r in PUBLISHED if r["kind"] == kind]


def test_table_vi_is_table_i_read_backwards() -> None:
    """At the printed density and temperature the margin of Table I is found, within the density's rounding."""
    cells = _printed("I")

    assert len(cells) >= 12
    for (mass_pct, t), rho in cells:
        rounding = 100.0 * 0.00501 / abs(density(max(mass_pct, 1.0) / 100.0, t) - density(0.0, t)) * max(mass_pct, 1.0)
        found = 100.0 * mass_fraction_from_density(min(rho, density(0.0, t)), t)
        assert found == pytest.approx(mass_pct, abs=1.5 * rounding / 100.0 + 0.003)


def test_table_vb_is_table_iva_read_backwards() -> None:
    """At a printed density at 20 °C the strength of the row is found, within the density's rounding."""
    cells = [((q,), rho) for (q, *_), rho in _printed("IVa") + _printed("OIV-I")]

    assert len(cells) >= 12
    for (q,), rho in cells:
        # 0.01 kg/m3 is at most 0.008 % vol anywhere on the scale
        assert strength_from_density(rho, 20.0) == pytest.approx(q, abs=0.008)


def test_mass_and_volume_strength_of_the_printed_tables_agree_with_each_other() -> None:
    """Tables IIIb and IVb, printed apart, are inverse to each other through the functions."""
    for (mass_pct,), q in _printed("IIIb"):
        assert 100.0 * mass_fraction_from_volume_strength(q) == pytest.approx(mass_pct, abs=0.006)
    for (q,), mass_pct in _printed("IVb"):
        assert volume_strength_from_mass_fraction(mass_pct / 100.0) == pytest.approx(q, abs=0.006)
