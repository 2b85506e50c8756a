"""Bottled batches against the law of their product: strength and contents where the label states them, and the sample
that the reference test asks."""

import pytest
from r22_formula import density, mass_fraction_of_strength
from small_house import MAPS, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.rebuild import rebuild
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.intake.flow import receive

PROOF_MAP = MAPS["bottling"].replace("label_strength_pct_vol = 40\n", "").replace(
    'lot = "lot"\n', 'lot = "lot"\nlabel_strength_pct_vol = { column = "label", unit = "us_proof" }\n'
)  # fmt: skip
PROOF_FILE = "lot,run,product,at,bottles,rejected,label\nRYE-1,BOT-1,RYE,2026-01-14 12:00,470,2,90\n"


@pytest.fixture
def batch_of(received, tmp_path):
    """The one batch of the small house under a law: batch_of("US", fills=[751.0], strength=45.0)."""
    received()

    def made(jurisdiction, fills=(), strength=None, bottles=470, house="", at_c=None):
        with open_book(tmp_path / "book", writing=True) as book:
            book.execute(
                "UPDATE received.houses SET text = replace(replace(text, 'jurisdiction = \"EU\"', ?), '[house]', ?)",
                [f'jurisdiction = "{jurisdiction}"', f"[house]\n{house}"],
            )
            book.execute("UPDATE typed.bottling SET nominal_ml = 750, bottles_filled = ?", [bottles])
            book.execute("DELETE FROM typed.fills")
            for number, content in enumerate(fills, start=1):
                book.execute(
                    "INSERT INTO typed.fills VALUES ('RYE-1', ?, NULL, ?, ?, NULL, 1, 1)", [number, content, at_c]
                )
            if strength is not None:
                book.execute("DELETE FROM typed.laboratory WHERE analyte = 'density' AND replicate = 2")
                book.execute(
                    "UPDATE typed.laboratory SET analyte = 'strength', unit = 'pct_vol', value = ? "
                    "WHERE analyte = 'density'",
                    [strength],
                )
            rebuild(book, profile_in_force(book))
            sql = (
                "SELECT b.*, g.volume_l AS bottled_l FROM derived.bottlings AS b "
                "JOIN derived.gauges AS g ON g.lot = b.batch AND g.direction = 'out'"
            )
            return book.frame(sql).row(0, named=True)

    return made


def test_a_label_in_proof_is_half_of_it(tmp_path):
    """27 CFR 5.65 and 30.11: proof is twice the per cent by volume at 60 °F, so a label of 90 proof says 45 %, and not
    the 45.06 % vol that the same spirit has at 20 °C."""
    write_house(tmp_path / "site", {"bottling.csv": PROOF_FILE})
    (tmp_path / "site" / "maps" / "bottling.toml").write_text(PROOF_MAP, encoding="utf-8")
    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT label_strength_pct_vol FROM typed.bottling") == 45.0
        assert book.value("SELECT label_strength_pct_vol FROM derived.bottlings") == 45.0


def test_a_bottle_filled_to_the_mark_is_neither_over_nor_under_in_any_unit(batch_of):
    """750 mL told in fluid ounces to eight decimals (25.36051703 and its neighbour) is 750 mL."""
    ounce_ml = 3785.411784 / 128  # 27 CFR 30.11: a gallon of 231 cubic inches
    batch = batch_of("EU", [750.0, 25.36051703 * ounce_ml, 25.36051704 * ounce_ml, 750.01, 749.99])

    assert (batch["fills_over"], batch["fills_under"]) == (1, 1)


@pytest.mark.parametrize(
    ("jurisdiction", "stated", "deviation"),
    # 80 proof is 40.069 % vol at 20 °C: 27 CFR 30.11, densities of OIML R 22
    [("EU", 40.069, 0.069), ("US", 40.0, 0.0)],
)
def test_a_strength_is_compared_where_the_label_states_it(batch_of, jurisdiction, stated, deviation):
    """A spirit of 80 proof is right under a label of 40 % in the United States; at 20 °C it is 0.07 % vol above it."""
    batch = batch_of(jurisdiction, strength=40.069)

    assert batch["laboratory_strength_pct_vol"] == pytest.approx(40.069)
    assert batch["stated_strength_pct_vol"] == pytest.approx(stated, abs=0.001)
    assert batch["label_deviation_pct_vol"] == pytest.approx(deviation, abs=0.001)


def test_fills_of_the_united_states_are_at_60_f_and_know_no_tolerable_error(batch_of):
    """27 CFR 5.1: the litre is one at 60 °F. A factor of 0.997 at 80 proof from 68 °F, as 27 CFR 30.67, Table 7, prints
    it, makes 752.3 mL at 20 °C 750.0 mL; nothing of the European Union's test is asked."""
    batch = batch_of("US", fills=[752.3, 755.0, 748.0], strength=40.069)

    assert round(batch["fill_factor"], 3) == 0.997
    assert batch["fill_mean_ml"] == pytest.approx((752.3 + 755.0 + 748.0) / 3 * batch["fill_factor"])
    assert (batch["fills_over"], batch["fills_under"]) == (1, 2)  # 749.98 lies under
    asked = ("tolerable_negative_error_ml", "fills_asked", "fills_below_tne", "fills_below_2tne", "accepted_below_tne",
             "rejected_below_tne", "fill_mean_deficit_ml")  # fmt: skip
    assert [batch[name] for name in asked] == [None] * len(asked)


F60_C = (60 - 32) / 1.8


@pytest.mark.parametrize("strength", [40.069, None])
def test_contents_measured_at_60_f_are_those_of_an_american_label(batch_of, strength):
    """What the label states at 60 °F and the bottle holds at 60 °F is compared as it is, to the last digit."""
    batch = batch_of("US", fills=[750.0, 751.0, 748.5], strength=strength, at_c=F60_C)

    assert batch["fill_mean_ml"] == pytest.approx((750.0 + 751.0 + 748.5) / 3, abs=1e-9)
    assert (batch["fills_over"], batch["fills_under"]) == (1, 1)


def test_contents_of_another_temperature_come_to_20_c(batch_of):
    """750 mL at 60 °F of 40 % vol are 752.6 mL at 20 °C, by the densities of OIML R 22 (Table 7 of 27 CFR 30.67 prints
    0.997 at 68 °F); so much more alcohol was bottled."""
    p = mass_fraction_of_strength(40.0)
    larger = density(p, F60_C) / density(p, 20.0)
    batch = batch_of("EU", fills=[750.0] * 80, strength=40.0, at_c=F60_C)

    assert larger == pytest.approx(1 / 0.997, abs=5e-4)
    assert batch["fill_mean_ml"] == pytest.approx(750.0 * larger, abs=1e-6)
    assert batch["bottled_l"] == pytest.approx(470 * 0.75 * larger, rel=1e-9)


def test_a_nominal_content_is_one_at_the_temperature_of_its_law(batch_of):
    """Without a measured content a bottle counts by its nominal one: at 60 °F in the United States, else at 20 °C."""
    p = mass_fraction_of_strength(40.0)

    assert batch_of("EU", strength=40.0)["bottled_l"] == pytest.approx(470 * 0.75, rel=1e-9)
    assert batch_of("US", strength=40.0)["bottled_l"] == pytest.approx(
        470 * 0.75 * density(p, F60_C) / density(p, 20.0), rel=1e-9
    )


def test_no_law_is_lent_to_fills_of_another_jurisdiction(batch_of):
    """Under a law that is not held here there is neither a tolerable error nor a plan; the figures stay at 20 °C."""
    batch = batch_of("CH", fills=[750.0] * 30, strength=40.0)

    assert (batch["fills"], batch["fill_mean_ml"], batch["stated_strength_pct_vol"]) == (30, 750.0, 40.0)
    assert (batch["tolerable_negative_error_ml"], batch["fills_asked"], batch["fill_mean_deficit_ml"]) == (None,) * 3


# Tolerable negative error of 750 mL: 15 mL (Directive 76/211/EEC, Annex I, 2.4), so 734 mL is short by more.
@pytest.mark.parametrize(
    ("bottles", "fills", "answer"),
    # asked, short, accepted up to, refused from: Directive 76/211/EEC, Annex II, 2.2.1
    [
        (5000, [751.0] * 30, (80, 0, None, None)), (5000, [751.0] * 80, (80, 0, 3, 7)),
        (5000, [751.0] * 77 + [734.0] * 3, (80, 3, 3, 7)), (470, [751.0] * 29 + [734.0], (30, 1, 1, 3)),
        (5000, [751.0] * 23 + [734.0] * 7, (80, 7, 3, 7)), (90, [751.0] * 89, (90, 0, None, None)),
    ],
)  # fmt: skip
def test_the_sample_is_judged_by_the_plan_of_its_batch(batch_of, bottles, fills, answer):
    """80 of 5000, which 30 cannot replace unless they refuse it already; every bottle of 90."""
    batch = batch_of("EU", fills=fills, bottles=bottles)

    assert (
        batch["fills_asked"], batch["fills_below_tne"], batch["accepted_below_tne"], batch["rejected_below_tne"],
    ) == answer  # fmt: skip


@pytest.mark.parametrize(
    ("bottles", "fills", "deficit"),
    # k = 0.503 of 30, 0.379 of 50 (Directive 76/211/EEC, Annex II, 2.3.2.1); standard deviation of ±1 by turns
    [
        (400, [749.0, 751.0] * 15, -0.503 * (30 / 29) ** 0.5), (3000, [749.0, 751.0] * 25, -0.379 * (50 / 49) ** 0.5),
        (3000, [749.0, 751.0] * 15, None), (3000, [740.0, 742.0] * 15, 9.0 - 0.503 * (30 / 29) ** 0.5),
        (60, [749.0, 751.0] * 30, 0.0),
    ],
)  # fmt: skip
def test_the_mean_is_judged_in_a_sample_of_its_size(batch_of, bottles, fills, deficit):
    """Of 3000 bottles 30 are too few to pass by, but not to fail by; every bottle of 60 has no allowance at all."""
    given = batch_of("EU", fills=fills, bottles=bottles)["fill_mean_deficit_ml"]

    assert given == (None if deficit is None else pytest.approx(deficit, abs=0.001))


def test_a_house_that_opens_its_bottles_has_the_plan_for_that(batch_of):
    """Directive 76/211/EEC, Annex II, 2.2.2: a destructive test takes 20, of which 1 may be short."""
    batch = batch_of("EU", fills=[751.0] * 20, bottles=5000, house="fills_opened = true")

    assert (batch["fills_asked"], batch["accepted_below_tne"], batch["rejected_below_tne"]) == (20, 1, 2)
    assert batch["fill_mean_deficit_ml"] == pytest.approx(-1.0)
