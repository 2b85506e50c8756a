-- What came to the house or stood there when the book was begun, as rows to gauge.
-- What a cask held then is its first filling, CASK/1.
-- A volume without a temperature is one at 20 °C, or at 60 °F where its strength is a US proof or it is that of bottles
-- labelled under the law of the United States: so they are stated.
WITH came AS (
    SELECT lot, 'received' AS origin, kind, material, vessel, received_at AS came_at, quantity_l AS volume_at_t_l,
           volume_temperature_c, quantity_kg AS mass_kg, alcohol_l AS stated_alcohol_l, quantity_pieces AS pieces,
           NULL::DOUBLE AS nominal_ml, NULL::DOUBLE AS label_strength_pct_vol, strength_reading, reading_kind,
           reading_temperature_c, instrument, preparation, extract_pct, moisture_pct, condition, source_id, line
    FROM typed.intake
    UNION ALL
    SELECT CASE WHEN vessel IN (FROM derived.casks) THEN vessel || '/1' ELSE lot END, 'opening', kind, material, vessel, counted_at, volume_at_t_l, volume_temperature_c, mass_kg, alcohol_l, pieces,
           nominal_ml, label_strength_pct_vol, strength_reading, reading_kind, reading_temperature_c, instrument,
           preparation, extract_pct, moisture_pct, condition, source_id, line
    FROM typed.opening_stock
),
spirit AS (             -- lots that a run drew as something with alcohol in it
    SELECT DISTINCT lot FROM derived.movements
    WHERE direction = 'in'
      AND part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging')
)
SELECT
    c.* REPLACE (
        CASE WHEN c.nominal_ml IS NOT NULL THEN c.pieces * c.nominal_ml / 1000 ELSE c.volume_at_t_l END AS volume_at_t_l,
        coalesce(c.volume_temperature_c, CASE WHEN starts_with(c.reading_kind, 'us_proof') OR (c.nominal_ml IS NOT NULL AND p.jurisdiction = 'US') THEN 140 / 9 ELSE 20 END) AS volume_temperature_c
    ),
    carries_alcohol,
    CASE WHEN carries_alcohol THEN 'spirit' WHEN c.kind = 'water' THEN 'water' WHEN c.kind = 'sugar' THEN 'sugar' ELSE 'botanical' END AS part,
    coalesce(s.value, c.label_strength_pct_vol) AS known_strength_pct_vol,
    -- a label may be 0.3 % vol off (Regulation (EU) 1169/2011, Annex XII), anywhere in that span
    CASE WHEN s.value IS NOT NULL THEN s.u_value WHEN c.label_strength_pct_vol IS NOT NULL THEN 0.3 / sqrt(3) END
        AS u_known_strength_pct_vol,
    CASE WHEN s.value IS NOT NULL THEN 'laboratory' WHEN c.label_strength_pct_vol IS NOT NULL THEN 'label' END AS known_from,
    CASE WHEN s.value IS NOT NULL THEN s.preparation WHEN c.label_strength_pct_vol IS NOT NULL THEN 'distilled' END
        AS known_preparation,
    s.instrument AS known_instrument, s.scatter AS known_scatter,
    coalesce(s.lot, CASE WHEN c.label_strength_pct_vol IS NOT NULL THEN c.lot END) AS known_for, c.vessel AS measured_in,
    concat_ws(' ', c.origin, c.lot, c.vessel, c.came_at) AS named, concat_ws(' ', c.origin, c.lot, c.vessel, c.came_at) AS read_for,
    e.extract_g_l, e.u_extract_g_l, e.may_hold_from IS NOT NULL AS may_hold, t.density_kg_l
FROM came AS c
LEFT JOIN derived.laboratory AS s ON s.lot = c.lot AND s.analyte = 'strength' AND s.value IS NOT NULL
LEFT JOIN derived.extracts AS e ON e.lot = c.lot
LEFT JOIN derived.contents AS t ON t.lot = c.lot
LEFT JOIN derived.house_products AS p ON p.code = c.material
CROSS JOIN LATERAL (
    SELECT c.kind IN ('neutral spirit', 'spirit', 'wash', 'bottled spirit') OR c.strength_reading IS NOT NULL
        OR c.stated_alcohol_l IS NOT NULL OR c.lot IN (FROM spirit) AS carries_alcohol
)
ORDER BY c.lot, c.origin, c.vessel, c.came_at, c.source_id, c.line
