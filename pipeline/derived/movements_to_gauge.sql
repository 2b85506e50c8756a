-- Movements with what else is known of the strength of their lot. Parameter: dissolved extract that obscures [g/L].
-- What is bottled is counted, not gauged: its volume is the bottles times their mean net content, at 20 °C.
WITH fill_means AS (
    SELECT lot, avg(net_content_ml) AS mean_ml FROM typed.fills GROUP BY lot
),
bottled AS (
    SELECT b.lot, b.bottles_filled * coalesce(f.mean_ml, b.nominal_ml) / 1000 AS volume_l
    FROM typed.bottling AS b LEFT JOIN fill_means AS f USING (lot)
),
liquid_of AS (          -- the liquid that a bottle run drew, whose laboratory results are the batch's
    SELECT o.lot AS batch, max(i.lot) AS liquid
    FROM typed.movements AS o
    JOIN typed.movements AS i ON i.run = o.run AND i.direction = 'in' AND i.part IN ('spirit', 'liquid', 'hearts')
    WHERE o.direction = 'out' AND o.part = 'bottles'
    GROUP BY o.lot
),
extracts AS (
    SELECT lot, max(value) AS extract_g_l FROM derived.laboratory WHERE analyte = 'dry_extract' AND unit = 'g/L' GROUP BY lot
),
strengths AS (
    SELECT lot, value, u_value, instrument FROM derived.laboratory WHERE analyte = 'strength' AND value IS NOT NULL
),
read_as AS (            -- the reading with which a lot came out of the run that made it
    SELECT lot, first(struct_pack(reading := strength_reading, kind := reading_kind, t := reading_temperature_c,
                                      instrument := instrument, source_id := source_id, line := line) ORDER BY source_id, line) AS made
    FROM typed.movements
    WHERE direction = 'out' AND strength_reading IS NOT NULL
    GROUP BY lot
)
SELECT
    m.run, m.direction, m.lot, m.part, m.vessel, m.gauged_at, r.stage, r.equipment,
    CASE WHEN m.part = 'bottles' THEN bottled.volume_l ELSE m.volume_at_t_l END AS volume_at_t_l,
    CASE WHEN m.part = 'bottles' THEN 20.0 ELSE m.volume_temperature_c END AS volume_temperature_c,
    m.mass_kg,
    -- a draw without a reading of its own takes the one that the lot was made with
    CASE WHEN takes_made THEN made.reading ELSE m.strength_reading END AS strength_reading,
    CASE WHEN takes_made THEN made.kind ELSE m.reading_kind END AS reading_kind,
    CASE WHEN takes_made THEN made.t ELSE m.reading_temperature_c END AS reading_temperature_c,
    CASE WHEN takes_made THEN made.instrument ELSE m.instrument END AS instrument,
    s.value AS known_strength_pct_vol, s.u_value AS u_known_strength_pct_vol,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' END AS known_from,
    s.instrument AS known_instrument, s.lot AS known_for,
    -- which reading it is: a draw that takes the one its lot was made with shares all of its error
    CASE WHEN takes_made THEN format('{}:{} out {}', made.source_id, made.line, read_as.lot)
         ELSE format('{}:{} {} {}', m.source_id, m.line, m.direction, m.lot) END AS read_for,
    coalesce(e.extract_g_l > ?, false) AS is_obscured,
    m.source_id, m.line
FROM typed.movements AS m
LEFT JOIN typed.runs AS r USING (run)
LEFT JOIN bottled ON bottled.lot = m.lot
LEFT JOIN liquid_of ON liquid_of.batch = m.lot
LEFT JOIN strengths AS s ON s.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN extracts AS e ON e.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN read_as ON read_as.lot = coalesce(liquid_of.liquid, m.lot)
CROSS JOIN LATERAL (SELECT m.strength_reading IS NULL AND s.value IS NULL AND read_as.made IS NOT NULL AS takes_made)
ORDER BY m.source_id, m.line
