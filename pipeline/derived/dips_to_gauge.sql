-- Dips of vessels at rest with what else is known of the strength of their lot. Parameter: obscuring extract [g/L].
SELECT
    d.vessel, d.lot, d.gauged_at, 'spirit' AS part, d.volume_at_t_l, d.volume_temperature_c, CAST(NULL AS DOUBLE) AS mass_kg,
    d.strength_reading, d.reading_kind, d.reading_temperature_c, d.instrument,
    s.value AS known_strength_pct_vol, s.u_value AS u_known_strength_pct_vol,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' END AS known_from,
    s.instrument AS known_instrument, s.lot AS known_for, format('{}:{} dip {}', d.source_id, d.line, d.lot) AS read_for,
    coalesce(e.value > ?, false) AS is_obscured,
    d.source_id, d.line
FROM typed.stock AS d
LEFT JOIN derived.laboratory AS s ON s.lot = d.lot AND s.analyte = 'strength' AND s.value IS NOT NULL
LEFT JOIN derived.laboratory AS e ON e.lot = d.lot AND e.analyte = 'dry_extract' AND e.unit = 'g/L'
ORDER BY d.source_id, d.line
