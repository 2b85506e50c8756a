-- Movements with what else is known of the strength of their lot, and what is or may be dissolved in it.
-- What is bottled is counted, not gauged: its volume is the bottles times their mean net content, at 20 °C.
-- Rows stand by what they are, never by the order in which files came, so that sums over them are the same to the last
-- digit; a sum of decimals is exact in any order.
WITH fill_means AS (
    SELECT lot, sum(net_content_ml::DECIMAL(18, 6))::DOUBLE / count(*) AS mean_ml FROM typed.fills GROUP BY lot
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
strengths AS (
    SELECT lot, value, u_value, preparation FROM derived.laboratory WHERE analyte = 'strength' AND value IS NOT NULL
),
read_as AS (            -- the reading with which a lot came out of the run that made it
    SELECT lot, first(struct_pack(reading := strength_reading, kind := reading_kind, t := reading_temperature_c,
                                      instrument := instrument, preparation := preparation)
                     ORDER BY gauged_at, run, part, vessel, strength_reading, source_id, line) AS made
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
    CASE WHEN takes_made THEN made.preparation ELSE m.preparation END AS preparation,
    s.value AS known_strength_pct_vol, s.u_value AS u_known_strength_pct_vol, s.preparation AS known_preparation,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' END AS known_from,
    -- what a lot took up in oak was not there yet when it was filled
    CASE WHEN e.since_made OR m.direction = 'in' OR m.part = 'bottles' THEN e.extract_g_l END AS extract_g_l,
    CASE WHEN e.since_made OR m.direction = 'in' OR m.part = 'bottles' THEN e.u_extract_g_l END AS u_extract_g_l,
    e.may_hold_from IS NOT NULL AND (e.since_made OR m.direction = 'in' OR m.part = 'bottles') AS may_hold,
    m.source_id, m.line
FROM typed.movements AS m
LEFT JOIN typed.runs AS r USING (run)
LEFT JOIN bottled ON bottled.lot = m.lot
LEFT JOIN liquid_of ON liquid_of.batch = m.lot
LEFT JOIN strengths AS s ON s.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN derived.extracts AS e ON e.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN read_as ON read_as.lot = coalesce(liquid_of.liquid, m.lot)
CROSS JOIN LATERAL (SELECT m.strength_reading IS NULL AND s.value IS NULL AND read_as.made IS NOT NULL AS takes_made)
ORDER BY m.run, m.direction, m.lot, m.part, m.vessel, m.gauged_at, m.source_id, m.line
