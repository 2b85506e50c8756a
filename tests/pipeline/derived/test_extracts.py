"""What is dissolved in lots, or may be, on movements put in by hand."""

import pytest

from gaugebook.pipeline.derived.extracts import extracts
from gaugebook.pipeline.derived.true_strength import NEGLIGIBLE_EXTRACT_G_L


@pytest.fixture
def held(empty_book):
    """Rows of derived.extracts by lot; the house has no vessel of its own yet."""
    empty_book.execute("CREATE TABLE derived.house_vessels (code VARCHAR, material VARCHAR)")

    def rows():
        extracts(empty_book)
        return {row["lot"]: row for row in empty_book.frame("SELECT * FROM derived.extracts").to_dicts()}

    return rows


def _run(put, run, stage, drawn, made, equipment="E"):
    put("typed.runs", run=run, stage=stage, equipment=equipment, started_at="2031-01-01")
    for direction, parts in (("in", drawn), ("out", made)):
        for lot, part in parts.items():
            put("typed.movements", run=run, direction=direction, lot=lot, part=part)


def _result(put, lot, analyte, value, unit="g/L", **more):
    put("derived.laboratory", lot=lot, analyte=analyte, value=value, unit=unit, **{"below_limit": False} | more)


@pytest.mark.parametrize(
    ("part", "brings"),
    [
        ("sweetening", "sweetening"), ("fruit", "fruit"), ("botanical", "botanical"), ("grain", "grain"),
        ("wort", "grain"), ("water", None), ("spirit", None),
    ],
)  # fmt: skip
def test_a_steep_holds_what_was_put_into_it(put, held, part, brings):
    """Of what brings extract; and hands it on to what is blended of it, until it is distilled."""
    _run(put, "A", "steep", {"X": part}, {"STEEP": "liquid"})
    _run(put, "B", "blend", {"STEEP": "liquid"}, {"BLEND": "liquid"})
    _run(put, "C", "botanical", {"BLEND": "liquid"}, {"HEARTS": "hearts", "STILLAGE": "spent"})

    rows = held()

    assert {lot: row["may_hold_from"] for lot, row in rows.items()} == (
        {"STEEP": brings, "BLEND": brings, "STILLAGE": brings} if brings else {}
    )
    assert all(row["since_made"] for row in rows.values())
    assert all(row["extract_g_l"] is None for row in rows.values())


@pytest.mark.parametrize(
    ("kind", "part", "brings"),
    [
        ("malt", "liquid", "grain"), ("adjunct", "spirit", "grain"), ("other", "liquid", "other"),
        ("other", "spirit", None), ("sweetening", "liquid", "sweetening"),
    ],
)  # fmt: skip
def test_what_was_bought_goes_by_its_kind(put, held, kind, part, brings):
    """As the delivery says; something else counts only where it was drawn as a liquid."""
    put("typed.intake", lot="X", kind=kind, material="m", received_at="2031-01-01")
    _run(put, "A", "blend", {"X": part}, {"BLEND": "liquid"})

    assert [row["may_hold_from"] for row in held().values()] == ([brings] if brings else [])


def test_a_wash_holds_extract_and_wort_is_none_of_this(put, held):
    """By whatever run it was made."""
    _run(put, "M", "mash", {"G": "grain"}, {"WORT": "wort"})
    _run(put, "F", "ferment", {"Y": "yeast"}, {"WASH": "wash"})

    assert {lot: row["may_hold_from"] for lot, row in held().items()} == {"WASH": "grain"}


def test_oak_counts_from_the_cask_on(put, held):
    """A lot that lay in oak holds since then, one that was made in it since it was made; a grain store is no cask."""
    put("derived.house_vessels", code="CASK", material="oak")
    put("derived.house_vessels", code="T1", material="steel")
    _run(put, "A", "rectify", {}, {"LAY": "hearts", "STEEL": "hearts"})
    put("typed.stock", vessel="CASK", lot="LAY", gauged_at="2031-01-31", volume_at_t_l=1.0)
    put("typed.stock", vessel="T1", lot="STEEL", gauged_at="2031-01-31", volume_at_t_l=1.0)
    put("typed.movements", run="A", direction="in", lot="CHIPS", part="grain", vessel="CASK")
    put("typed.movements", run="A", direction="in", lot="DRAWN", part="spirit", vessel="CASK")
    _run(put, "B", "blend", {}, {"MADE": "liquid"}, equipment="CASK")

    rows = held()

    assert {lot: (row["may_hold_from"], row["since_made"]) for lot, row in rows.items()} == {
        "LAY": ("cask", False), "DRAWN": ("cask", False), "MADE": ("cask", True),
    }  # fmt: skip


def test_the_laboratorys_extract_is_in_grams_a_litre(put, held):
    """The greatest of dry extract and sugar, with its own uncertainty; other analytes, units and blanks are none."""
    _result(put, "L", "sugar", 90_000.0, "mg/L", u_value=2000.0)
    _result(put, "L", "dry_extract", 80.0, u_value=5.0)
    _result(put, "L", "methanol", 500.0)
    _result(put, "L", "sweetening", 500.0, "g/hL")
    _result(put, "N", "sugar", None)

    rows = held()

    assert rows.keys() == {"L"}
    assert (rows["L"]["extract_g_l"], rows["L"]["u_extract_g_l"]) == (pytest.approx(90.0), pytest.approx(2.0))
    assert (rows["L"]["may_hold_from"], rows["L"]["since_made"]) == ("laboratory", True)


def test_a_lot_measured_clean_holds_nothing_and_hands_nothing_on(put, held):
    """At the limit; just above it, it does. In oak or not."""
    put("derived.house_vessels", code="CASK", material="oak")
    for lot, more in (("CLEAN", 0.0), ("NOT", 0.001)):
        _run(put, f"A {lot}", "steep", {"X": "fruit"}, {lot: "liquid"})
        _run(put, f"B {lot}", "blend", {lot: "liquid"}, {f"OF {lot}": "liquid"})
        _result(put, lot, "dry_extract", NEGLIGIBLE_EXTRACT_G_L + more)
        put("typed.stock", vessel="CASK", lot=lot, gauged_at="2031-01-31", volume_at_t_l=1.0)

    rows = held()

    assert rows["CLEAN"]["may_hold_from"] is None
    assert not rows["CLEAN"]["since_made"]
    assert "OF CLEAN" not in rows
    assert rows["NOT"]["may_hold_from"] == "cask, fruit, laboratory"
    assert "fruit" in rows["OF NOT"]["may_hold_from"]


def test_below_a_limit_that_is_not_negligible_says_nothing(put, held):
    """Less than 5 g/L may be much; less than next to none is next to none."""
    _result(put, "A", "sugar", 5.0, below_limit=True)
    _result(put, "B", "sugar", NEGLIGIBLE_EXTRACT_G_L, below_limit=True)
    _result(put, "C", "sugar", 5.0, below_limit=False)
    _result(put, "D", "sugar", 5000.0, "mg/L", below_limit=True)

    assert held().keys() == {"B", "C"}
