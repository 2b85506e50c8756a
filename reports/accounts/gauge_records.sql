-- Every gauge of alcohol, once each, numbered in the order in which the register took the files: what was gauged, when, what was
-- read, what came of it. What filled a cask and was drawn for it is one gauge. Bottles that were counted are none.
WITH read AS (
    SELECT source_id, line, lot, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL AS gross_kg, NULL AS tare_kg, NULL AS person
    FROM typed.movements
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, net_kg, gross_kg, tare_kg, person
    FROM derived.cask_events
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, NULL, NULL, NULL, NULL FROM typed.stock
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, gross_kg, NULL, counted_by
    FROM typed.inventory
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL, NULL, counted_by
    FROM typed.opening_stock
    UNION ALL
    SELECT source_id, line, NULL, quantity_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, quantity_kg, NULL, NULL, NULL FROM typed.intake
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL, NULL, person FROM typed.dispatches
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL, NULL, person FROM typed.returns
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL, NULL, person FROM typed.samples
    UNION ALL
    SELECT source_id, line, NULL, volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, mass_kg, NULL, NULL, person FROM typed.destructions
),
fills AS (
    SELECT source_id, line, contents FROM derived.cask_events WHERE event = 'filled'
),
gauged AS (
    SELECT CASE g.direction WHEN 'in' THEN 'drawn for ' ELSE 'produced by ' END || coalesce(g.stage, 'a run') AS circumstance, g.run, g.lot, g.part, g.vessel,
           coalesce(g.gauged_at, CASE g.direction WHEN 'in' THEN r.started_at ELSE coalesce(r.ended_at, r.started_at) END) AS gauged_at,
           g.volume_l, g.u_volume_l, g.strength_pct_vol, g.u_strength_pct_vol, g.strength_is, g.alcohol_l, g.u_alcohol_l, g.not_computed, r.operator AS run_by, g.source_id, g.line
    FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run) LEFT JOIN fills AS f ON f.source_id = g.source_id AND f.line = g.line
    WHERE g.part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging', 'bottles') AND (f.line IS NULL OR f.contents = g.lot)
    UNION ALL
    SELECT 'dip, or cask gauged again', NULL, lot, NULL, vessel, gauged_at, volume_l, u_volume_l, strength_pct_vol, u_strength_pct_vol, strength_is, alcohol_l, u_alcohol_l,
           not_computed, NULL, source_id, line FROM derived.stock_gauges
    UNION ALL
    SELECT CASE origin WHEN 'opening' THEN 'opening inventory' ELSE 'receipt' END, NULL, lot, material, vessel, came_at, volume_l, u_volume_l, strength_pct_vol, u_strength_pct_vol,
           strength_is, alcohol_l, u_alcohol_l, not_computed, NULL, source_id, line FROM derived.openings WHERE carries_alcohol AND kind <> 'bottled spirit'
    UNION ALL
    SELECT kind, NULL, lot, NULL, vessel, removed_at, volume_l, NULL, strength_pct_vol, u_strength_pct_vol, NULL, alcohol_l, u_alcohol_l, not_computed, person, source_id, line
    FROM derived.removals WHERE NOT is_bottled
),
filled AS (             -- of each filling of a cask: when, how strong, and when spirit was added last
    SELECT e.contents, min(e.happened_at) AS filled_at, max(e.happened_at) AS topped_at,
           first(g.strength_pct_vol ORDER BY e.happened_at, g.gauge) AS entry_strength_pct_vol
    FROM derived.cask_events AS e LEFT JOIN derived.gauges AS g ON g.lot = e.contents AND g.source_id = e.source_id AND g.line = e.line AND g.direction = 'out'
    WHERE e.event = 'filled' GROUP BY e.contents
),
numbered AS (
    SELECT *, row_number() OVER (ORDER BY file_id, line, circumstance, lot, vessel, gauged_at, source_id) AS serial
    FROM gauged JOIN landed.sources AS s USING (source_id)
)
SELECT n.serial, n.circumstance, n.run, n.lot, n.part, l.material, n.vessel, d.cask IS NOT NULL AS is_cask, n.gauged_at,
       date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', n.gauged_at)))::DATE AS month,
       timezone(getvariable('house_zone'), timezone('UTC', n.gauged_at))::DATE AS gauged_on,
       c.nominal_l, c.wood, c.treatment, c.char_level, c.former_contents, c.cooperage, i.filled_at, i.entry_strength_pct_vol,
       CASE WHEN i.topped_at IS NULL OR i.topped_at <= n.gauged_at THEN a.aged_from END AS aged_from, a.years, a.months, a.days,
       r.volume_at_t_l, r.volume_temperature_c, r.mass_kg, r.gross_kg, r.tare_kg, r.strength_reading, r.reading_kind, r.reading_temperature_c, r.instrument,
       n.volume_l, n.u_volume_l, n.strength_pct_vol, n.u_strength_pct_vol, n.strength_is, n.alcohol_l, n.u_alcohol_l, n.not_computed,
       coalesce(r.person, n.run_by) AS person, f.name AS file, n.line
FROM numbered AS n JOIN received.files AS f USING (file_id)
LEFT JOIN read AS r ON r.source_id = n.source_id AND r.line = n.line AND (r.lot IS NULL OR r.lot = n.lot)
LEFT JOIN derived.casks AS d ON d.cask = n.vessel LEFT JOIN typed.casks AS c ON c.cask = n.vessel
LEFT JOIN filled AS i ON i.contents = n.lot LEFT JOIN derived.ages AS a ON a.lot = n.lot LEFT JOIN derived.lots AS l ON l.lot = n.lot
QUALIFY row_number() OVER (PARTITION BY n.serial ORDER BY r.lot NULLS LAST, r.volume_at_t_l, r.strength_reading, r.person NULLS LAST) = 1
ORDER BY n.serial
