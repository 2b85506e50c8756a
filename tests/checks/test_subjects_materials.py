"""The subjects' frames over materials: certificates, what is predicted of a ferment, spirit that was bought in; rows by
hand, all made up."""

import pytest
from by_hand import put_batch

from tests.checks.conftest import HOUSE, frames_of


def certificate(put, lot, material, **says):
    """What the book knows of a lot's certificate."""
    put("derived.contents", lot=lot, material=material, source_id=1, line=2, **says)


@pytest.mark.parametrize(
    ("material", "most"),
    [
        # Directive 2001/110/EC, Annex II, point 2
        ("honey", 20.0), ("Lime Honey", 20.0), ("heather honey", 23.0), ("baker's honey", 23.0),
        ("baker's honey from heather", 25.0), ("honeydew melon", None), ("molasses", None),
    ],
)  # fmt: skip
def test_honey_has_its_limit_of_water(put, frames, row_of, material, most):
    """By the words of its name; heather and baker's honey may hold more, both together more still."""
    certificate(put, "L", material, moisture_pct=19.0, basis="total sugars", sugar_of_solids=0.9)

    row = row_of(frames()["certificates"], lot="L")

    assert (row["most_moisture_pct"], row["moisture_pct"], row["sugar_of_solids"]) == (most, 19.0, 0.9)
    assert (row["record"], row["note"], row["line"]) == ("lot L", material, 2)


def test_where_nothing_is_made_for_the_union_honey_has_no_limit(put, book, row_of):
    """The directive is law of the Union alone: a house whose products are all American is not held to it."""
    certificate(put, "L", "honey", moisture_pct=30.0)

    american = frames_of(book, HOUSE.replace('jurisdiction = "EU"', 'jurisdiction = "US"'))

    assert row_of(frames_of(book, HOUSE)["certificates"], lot="L")["most_moisture_pct"] == 20.0
    assert row_of(american["certificates"], lot="L")["most_moisture_pct"] is None


def test_why_nothing_is_predicted_of_a_ferment(put, frames, row_of):
    """Each lot of its mash and of what was fed to it directly that lacks something, with what it lacks; a ferment of
    another mash is not concerned."""
    for run in ("F-1", "F-2"):
        put("typed.runs", run=run, stage="ferment", equipment="F", started_at="2031-01-02")
        put("derived.ferment_yields", run=run, malt_lots=["A"], yield_of_possible=0.8, alcohol_l=100.0, u_alcohol_l=3.0)
        put("derived.gauges", run=run, stage="ferment", direction="in", lot=f"WORT {run}", part="wort")
        put("derived.gauges", run=f"M {run}", stage="mash", direction="out", lot=f"WORT {run}", part="wort")
    put("derived.gauges", run="F-1", stage="ferment", direction="in", lot="HONEY", part="sugar")
    for run, lot, why in (("M F-1", "SYRUP", "no certificate"), ("M F-1", "GOOD", None), ("F-1", "HONEY", "no mass")):
        put("derived.mash_bill", run=run, lot=lot, not_known=why)

    first, second = (row_of(frames()["ferments"], run=run) for run in ("F-1", "F-2"))

    assert first["not_known"] == "HONEY: no mass, SYRUP: no certificate"
    assert (second["not_known"], second["has_material"]) == (None, "yes")
    # 0.8 x the root of 0.03 squared and of the certificates' 0.01 squared
    assert first["u_yield_of_possible"] == pytest.approx(0.8 * (0.03**2 + 0.01**2) ** 0.5)


def test_spirit_bought_for_a_vodka(put, frames):
    """Of each batch the lots that were bought, with the kind on their delivery; own and opening stock are no matter."""
    for batch, product in (("V-1", "VODKA"), ("A-1", "APPLE")):
        put_batch(put, batch, product, "PROOF")
        for lot, origin, kind in (
            ("NS", "bought", "spirit"),
            ("RYE", "fermented", "malt"),
            ("OLD", "opening", "spirit"),
        ):
            put("derived.batch_bill", batch=batch, lot=lot, origin=origin, kind=kind, material="grain spirit",
                alcohol_share=0.25, strength_pct_vol=95.0)  # fmt: skip

    rows = frames()["bought_spirits"].select("batch", "lot", "kind", "from_neutral_spirit", "note").rows()

    note = "grain spirit, 25.0 % of the alcohol, 95.00 % vol"
    assert rows == [("A-1", "NS", "spirit", "no", note), ("V-1", "NS", "spirit", "yes", note)]


def test_spirit_that_was_bought_is_placed_at_its_own_bottling(book, put, frames):
    """Of two batches each has the line of its bottling record."""
    for batch, line in (("V-1", 4), ("V-2", 9)):
        put_batch(put, batch, "VODKA", "PROOF")
        book.execute("UPDATE typed.bottling SET line = ? WHERE lot = ?", [line, batch])
        put("derived.batch_bill", batch=batch, lot="NS", origin="bought", kind="spirit", material="grain spirit")

    assert frames()["bought_spirits"].select("batch", "line").rows() == [("V-1", 4), ("V-2", 9)]


@pytest.mark.parametrize(
    ("product", "stage", "is_asked"),
    [("VODKA", "blend", True), ("VODKA", "botanical", True), ("APPLE", "blend", False), ("VODKA", "reduce", False)],
)
def test_neutral_spirit_is_asked_as_soon_as_it_is_drawn(put, frames, product, stage, is_asked):
    """A run for a product from neutral spirit asks its strength before anything is bottled: at least 96.0 % vol
    (Regulation (EU) 2019/787, Article 5)."""
    put("typed.runs", run="R", stage=stage, equipment="B", product=product, started_at="2031-01-02")
    put("derived.openings", lot="NS", origin="received", kind="neutral spirit", carries_alcohol=True)
    put("derived.gauges", run="R", stage=stage, direction="in", lot="NS", part="spirit", strength_pct_vol=95.4,
        u_strength_pct_vol=0.05, gauged_at="2031-01-02")  # fmt: skip

    rows = frames()["neutral_spirit"].filter(analyte="strength").select("lot", "value", "least").rows()

    assert rows == ([("NS", 95.4, 96.0)] if is_asked else [])
