-- Dips of vessels at rest with what else is known of the strength of their lot, and what is or may be dissolved in it.
SELECT
    d.vessel, d.lot, d.gauged_at, 'spirit' AS part, d.volume_at_t_l, d.volume_temperature_c, d.mass_kg, d.stated_alcohol_l, d.vessel AS measured_in,
    d.strength_reading, d.reading_kind, d.reading_temperature_c, d.instrument, d.preparation,
    s.value AS known_strength_pct_vol, s.u_value AS u_known_strength_pct_vol, s.preparation AS known_preparation,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' END AS known_from,
    s.instrument AS known_instrument, s.scatter AS known_scatter, s.lot AS known_for, concat_ws(' ', 'dip', d.vessel, d.lot, d.gauged_at) AS read_for, read_for AS named,
    e.extract_g_l, e.u_extract_g_l, e.may_hold_from IS NOT NULL AS may_hold,
    d.source_id, d.line
FROM derived.dips AS d
LEFT JOIN derived.laboratory AS s ON s.lot = d.lot AND s.analyte = 'strength' AND s.value IS NOT NULL
LEFT JOIN derived.extracts AS e ON e.lot = d.lot
ORDER BY d.vessel, d.lot, d.gauged_at, d.source_id, d.line
