"""Dips of vessels at rest with what else is known of their lot: on rows put in by hand."""

DAY = "2031-01-10"


def test_a_dip_with_the_laboratory_and_the_extract_of_its_lot(put, made_by):
    """Its own reading, the accepted strength with what it rests on, and whether something is or may be dissolved; a
    strength that was not accepted, another analyte and another lot say nothing."""
    put("typed.stock", vessel="T1", lot="A", gauged_at=DAY, volume_at_t_l=10.0, volume_temperature_c=15.0,
        strength_reading=60.0, reading_kind="pct_vol_20c")  # fmt: skip
    put("typed.stock", vessel="T2", lot="B", gauged_at=DAY, volume_at_t_l=20.0)
    put("derived.laboratory", lot="A", analyte="strength", value=61.0, u_value=0.1, preparation="distilled",
        instrument="DM", scatter=0.3)  # fmt: skip
    put("derived.laboratory", lot="A", analyte="ph", value=7.0)
    put("derived.laboratory", lot="B", analyte="strength", value=None, instrument="DM")
    put("derived.extracts", lot="A", extract_g_l=5.0, u_extract_g_l=0.2, may_hold_from="botanical")
    put("derived.extracts", lot="B", extract_g_l=0.1)

    first, second = made_by("dips_to_gauge")

    names = ("known_strength_pct_vol", "u_known_strength_pct_vol", "known_preparation", "known_from",
             "known_instrument", "known_scatter", "known_for", "extract_g_l", "u_extract_g_l", "may_hold")  # fmt: skip
    assert [first[name] for name in names] == [61.0, 0.1, "distilled", "laboratory", "DM", 0.3, "A", 5.0, 0.2, True]
    assert [second[name] for name in names] == [None] * 7 + [0.1, None, False]
    assert (first["vessel"], first["measured_in"], first["part"], first["strength_reading"]) == (
        "T1",
        "T1",
        "spirit",
        60.0,
    )
    assert first["named"] == first["read_for"] == "dip T1 A 2031-01-10 00:00:00"
    assert (second["volume_at_t_l"], second["volume_temperature_c"], second["strength_reading"]) == (20.0, None, None)
