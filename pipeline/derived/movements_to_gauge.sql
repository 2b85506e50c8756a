-- Movements with what else is known of the strength of their lot, and what is or may be dissolved in it.
-- Bottles are counted: their volume is their number times their mean net content (nominal where none was measured), at the
-- temperature at which that is stated: 20 °C where nothing else is said, and of a nominal content under the law of the
-- United States 60 °F. What a run fills is the count of the bottling record, unless the movement has its own; what a run draws has a
-- count or a gauge of its own and never takes the whole lot.
-- Rows stand by what they are, never by the order in which files came, so that sums over them are the same to the last
-- digit; a sum of decimals is exact in any order.
WITH fill_means AS (
    SELECT lot, sum(net_content_ml::DECIMAL(18, 6))::DOUBLE / count(*) AS mean_ml,
           sum(coalesce(content_temperature_c, 20)::DECIMAL(18, 9))::DOUBLE / count(*) AS at_c
    FROM typed.fills GROUP BY lot
),
filled AS (             -- the whole lot, for the one movement out that has no count of its own
    SELECT m.lot, any_value(b.bottles_filled) AS bottles
    FROM derived.movements AS m JOIN typed.bottling AS b USING (lot)
    WHERE m.part = 'bottles' AND m.direction = 'out' GROUP BY m.lot HAVING count(*) = 1
),
contents AS (
    SELECT lot, coalesce(f.mean_ml, b.nominal_ml) / 1000 AS content_l, coalesce(f.at_c, CASE p.jurisdiction WHEN 'US' THEN 140 / 9 ELSE 20 END) AS content_at_c,
           NULL::DOUBLE AS label_strength_pct_vol
    FROM typed.bottling AS b LEFT JOIN fill_means AS f USING (lot) LEFT JOIN derived.house_products AS p ON p.code = b.product
    UNION ALL
    SELECT lot, max(nominal_ml) / 1000, max(CASE p.jurisdiction WHEN 'US' THEN 140 / 9 ELSE 20 END), max(label_strength_pct_vol)
    FROM typed.opening_stock AS o LEFT JOIN derived.house_products AS p ON p.code = o.material
    WHERE nominal_ml IS NOT NULL AND lot NOT IN (SELECT lot FROM typed.bottling) GROUP BY lot
),
liquid_of AS (          -- the liquid that a bottle run drew, whose laboratory results are the batch's
    SELECT o.lot AS batch, max(i.lot) AS liquid
    FROM derived.movements AS o
    JOIN derived.movements AS i ON i.run = o.run AND i.direction = 'in' AND i.part IN ('spirit', 'liquid', 'hearts')
    WHERE o.direction = 'out' AND o.part = 'bottles'
    GROUP BY o.lot
),
strengths AS (
    SELECT lot, value, u_value, scatter, instrument, preparation FROM derived.laboratory WHERE analyte = 'strength' AND value IS NOT NULL
),
readings AS (
    SELECT lot, gauged_at, run, direction, part, vessel, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, source_id, line
    FROM derived.movements WHERE direction = 'out'
    UNION ALL
    SELECT lot, received_at, NULL, 'received', NULL, vessel, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, source_id, line
    FROM typed.intake
    UNION ALL
    SELECT lot, counted_at, NULL, 'opening', NULL, vessel, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, source_id, line
    FROM typed.opening_stock
),
read_as AS (            -- the reading with which a lot was made, received or taken over
    SELECT lot, first(struct_pack(reading := strength_reading, kind := reading_kind, t := reading_temperature_c,
                                      instrument := instrument, preparation := preparation,
                                      name := concat_ws(' ', run, direction, lot, part, vessel, gauged_at))
                     ORDER BY gauged_at, run, part, vessel, strength_reading, source_id, line) AS made
    FROM readings
    WHERE strength_reading IS NOT NULL
    GROUP BY lot
)
SELECT
    m.run, m.direction, m.lot, m.part, m.vessel, m.gauged_at, r.stage, r.equipment,
    coalesce(counted_l, m.volume_at_t_l) AS volume_at_t_l,
    CASE WHEN counted_l IS NOT NULL THEN contents.content_at_c ELSE m.volume_temperature_c END AS volume_temperature_c,
    m.mass_kg, coalesce(m.pieces, filled.bottles) AS pieces, m.stated_alcohol_l, coalesce(m.measured_in, m.vessel) AS measured_in,
    -- a draw without a reading of its own takes the one that the lot was made with
    CASE WHEN takes_made THEN made.reading ELSE m.strength_reading END AS strength_reading,
    CASE WHEN takes_made THEN made.kind ELSE m.reading_kind END AS reading_kind,
    CASE WHEN takes_made THEN made.t ELSE m.reading_temperature_c END AS reading_temperature_c,
    CASE WHEN takes_made THEN made.instrument ELSE m.instrument END AS instrument,
    CASE WHEN takes_made THEN made.preparation ELSE m.preparation END AS preparation,
    coalesce(s.value, contents.label_strength_pct_vol) AS known_strength_pct_vol,
    -- a label may be 0.3 % vol off (Regulation (EU) 1169/2011, Annex XII), anywhere in that span
    CASE WHEN s.value IS NOT NULL THEN s.u_value WHEN contents.label_strength_pct_vol IS NOT NULL THEN 0.3 / sqrt(3) END
        AS u_known_strength_pct_vol,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' WHEN contents.label_strength_pct_vol IS NOT NULL THEN 'label' END
        AS known_from,
    -- a label states the strength after distillation
    CASE WHEN s.value IS NOT NULL THEN s.preparation WHEN contents.label_strength_pct_vol IS NOT NULL THEN 'distilled' END
        AS known_preparation,
    s.instrument AS known_instrument, s.scatter AS known_scatter,
    coalesce(s.lot, CASE WHEN contents.label_strength_pct_vol IS NOT NULL THEN m.lot END) AS known_for,
    -- which reading it is: a draw that takes the one its lot was made with shares all of its error
    CASE WHEN takes_made THEN made.name ELSE named END AS read_for, named,
    -- what a lot took up in oak was not there yet when it was filled
    CASE WHEN e.since_made OR m.direction = 'in' OR m.part = 'bottles' THEN e.extract_g_l END AS extract_g_l,
    CASE WHEN e.since_made OR m.direction = 'in' OR m.part = 'bottles' THEN e.u_extract_g_l END AS u_extract_g_l,
    e.may_hold_from IS NOT NULL AND (e.since_made OR m.direction = 'in' OR m.part = 'bottles') AS may_hold,
    c.density_kg_l, m.source_id, m.line
FROM derived.movements AS m
LEFT JOIN derived.runs AS r USING (run)
LEFT JOIN derived.contents AS c ON c.lot = m.lot
LEFT JOIN contents ON contents.lot = m.lot AND m.part = 'bottles'
LEFT JOIN filled ON filled.lot = m.lot AND m.part = 'bottles' AND m.direction = 'out'
LEFT JOIN liquid_of ON liquid_of.batch = m.lot
LEFT JOIN strengths AS s ON s.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN derived.extracts AS e ON e.lot = coalesce(liquid_of.liquid, m.lot)
LEFT JOIN read_as ON read_as.lot = coalesce(liquid_of.liquid, m.lot)
CROSS JOIN LATERAL (
    -- of what is drawn a gauge of the bulk goes before the count
    SELECT CASE WHEN m.part = 'bottles' AND (m.direction = 'out' OR m.volume_at_t_l IS NULL)
           THEN coalesce(m.pieces, filled.bottles) * contents.content_l END AS counted_l
)
CROSS JOIN LATERAL (
    SELECT coalesce(m.shares_gauge, concat_ws(' ', m.run, m.direction, m.lot, m.part, m.vessel, m.gauged_at)) AS named
)
CROSS JOIN LATERAL (  -- but a cask changes the strength of what it holds
    SELECT m.strength_reading IS NULL AND s.value IS NULL AND read_as.made IS NOT NULL AND m.measured_in IS NULL AS takes_made
)
ORDER BY m.run, m.direction, m.lot, m.part, m.vessel, m.gauged_at, m.source_id, m.line
