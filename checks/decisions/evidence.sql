-- The records behind each batch of `asked_batches`, one row a record as JSON: what a decision on it rests on. Places and
-- what later runs drew are left out, since they change without the batch changing; derived numbers are rounded.
WITH runs AS (
    SELECT batch, run FROM derived.ancestor_runs SEMI JOIN asked_batches USING (batch)
),
lots AS (
    SELECT batch, lot FROM derived.ancestor_lots SEMI JOIN asked_batches USING (batch)
),
read_by AS (            -- the instruments that read the batch and what it came from, and when
    SELECT batch, instrument, gauged_at AS read_at FROM runs JOIN typed.movements AS m ON m.run = runs.run
    UNION SELECT batch, instrument, measured_at FROM lots JOIN typed.laboratory AS r ON r.lot = lots.lot
    UNION SELECT batch, instrument, received_at FROM lots JOIN typed.intake AS i ON i.lot = lots.lot
    UNION SELECT batch, instrument, counted_at FROM lots JOIN typed.opening_stock AS o ON o.lot = lots.lot
    UNION SELECT batch, instrument, measured_at FROM asked_batches JOIN typed.fills AS f ON f.lot = asked_batches.batch
),
in_force AS (           -- their calibrations at that time
    SELECT DISTINCT r.batch, c.instrument, c.checked_at, c.reference_value, c.reading, c.unit, c.due_at
    FROM read_by AS r
    ASOF JOIN typed.calibrations AS c ON c.instrument = r.instrument AND c.checked_at <= r.read_at
)
SELECT batch, 'lineage' AS part, to_json({run: run, lot: lot, into_lot: into_lot, depth: depth, share: round(share, 4)})::VARCHAR AS row
FROM derived.lineage SEMI JOIN asked_batches USING (batch)
UNION ALL
SELECT batch, 'runs', to_json({
    run: runs.run, stage: stage, equipment: equipment, product: product, recipe: recipe, started_at: started_at,
    ended_at: ended_at, operator: operator, hearts_from: hearts_from, hearts_to: hearts_to
})::VARCHAR
FROM runs JOIN typed.runs AS sheet ON sheet.run = runs.run
UNION ALL
SELECT batch, 'gauges', to_json({
    run: runs.run, direction: direction, lot: lot, part: part, vessel: vessel, gauged_at: gauged_at,
    mass_kg: round(mass_kg, 6), volume_l: round(volume_l, 6), u_volume_l: round(u_volume_l, 6),
    strength_reading: strength_reading, reading_kind: reading_kind, reading_temperature_c: reading_temperature_c,
    strength_pct_vol: round(strength_pct_vol, 6), u_strength_pct_vol: round(u_strength_pct_vol, 6),
    alcohol_l: round(alcohol_l, 6), u_alcohol_l: round(u_alcohol_l, 6), strength_is: strength_is, pieces: pieces
})::VARCHAR
FROM runs JOIN derived.gauges AS gauges ON gauges.run = runs.run
UNION ALL
SELECT batch, 'laboratory', to_json({
    sample: sample, lot: lots.lot, analyte: analyte, value: value, below_limit: below_limit, unit: unit, method: method,
    preparation: preparation, temperature_c: temperature_c,
    instrument: instrument, analyst: analyst, replicate: replicate, measured_at: measured_at
})::VARCHAR
FROM lots JOIN typed.laboratory AS results ON results.lot = lots.lot
UNION ALL
SELECT batch, 'calibrations', to_json({
    instrument: instrument, checked_at: checked_at, reference_value: reference_value, reading: reading, unit: unit,
    due_at: due_at
})::VARCHAR
FROM in_force
UNION ALL
SELECT batch, 'intake', to_json({
    lot: lots.lot, material: material, kind: kind, supplier: supplier, received_at: received_at,
    quantity_kg: quantity_kg, quantity_l: quantity_l, quantity_pieces: quantity_pieces, extract_pct: extract_pct,
    moisture_pct: moisture_pct, condition: condition, best_before: best_before
})::VARCHAR
FROM lots JOIN typed.intake AS intake ON intake.lot = lots.lot
UNION ALL               -- of lots whose certificate says more than an extract
SELECT batch, 'intake', to_json({
    lot: lots.lot, fermentability_pct: fermentability_pct, original_gravity: original_gravity, final_gravity: final_gravity,
    brix: brix, purity_pct: purity_pct, sugar_free_extract_g_l: sugar_free_extract_g_l,
    potential_alcohol_pct_vol: potential_alcohol_pct_vol, total_sugars_pct: total_sugars_pct,
    reducing_sugars_pct: reducing_sugars_pct, sucrose_pct: sucrose_pct, lactose_pct: lactose_pct, starch_pct: starch_pct,
    fructan_pct: fructan_pct, sugar_g_l: sugar_g_l, juice_l_per_100kg: juice_l_per_100kg
})::VARCHAR
FROM lots JOIN typed.intake AS intake ON intake.lot = lots.lot
WHERE coalesce(fermentability_pct, original_gravity, brix, potential_alcohol_pct_vol, total_sugars_pct, reducing_sugars_pct,
               sucrose_pct, lactose_pct, starch_pct, fructan_pct, sugar_g_l) IS NOT NULL
UNION ALL               -- what the spirit behind it began with
SELECT batch, 'opening', to_json({
    lot: lots.lot, origin: origin, kind: kind, material: material, vessel: vessel, came_at: came_at,
    volume_l: round(volume_l, 6), strength_pct_vol: round(strength_pct_vol, 6), alcohol_l: round(alcohol_l, 6),
    u_alcohol_l: round(u_alcohol_l, 6), pieces: pieces
})::VARCHAR
FROM lots JOIN derived.openings AS openings ON openings.lot = lots.lot
WHERE carries_alcohol OR origin = 'opening'
UNION ALL
SELECT batch, 'bottling', CASE WHEN label_age_years IS NULL     -- what older decisions froze stays as it was
    THEN to_json({run: run, product: product, bottled_at: bottled_at, nominal_ml: nominal_ml,
                  label_strength_pct_vol: label_strength_pct_vol, bottles_filled: bottles_filled, bottles_rejected: bottles_rejected,
                  operator: operator})
    ELSE to_json({run: run, product: product, bottled_at: bottled_at, nominal_ml: nominal_ml,
                  label_strength_pct_vol: label_strength_pct_vol, label_age_years: label_age_years, bottles_filled: bottles_filled,
                  bottles_rejected: bottles_rejected, operator: operator}) END::VARCHAR
FROM asked_batches JOIN typed.bottling AS bottling ON bottling.lot = asked_batches.batch
UNION ALL
SELECT batch, 'fills', CASE WHEN content_temperature_c IS NULL     -- what older decisions froze stays as it was
    THEN to_json({sample_no: sample_no, net_content_ml: net_content_ml, instrument: instrument})
    ELSE to_json({sample_no: sample_no, net_content_ml: net_content_ml, content_temperature_c: content_temperature_c,
                  instrument: instrument}) END::VARCHAR
FROM asked_batches JOIN typed.fills AS fills ON fills.lot = asked_batches.batch
UNION ALL
SELECT batch, 'panel', to_json({
    session: session, lot: lots.lot, reference_lot: reference_lot, test: test, assessors: assessors,
    correct_answers: correct_answers
})::VARCHAR
FROM lots JOIN typed.panel AS panel ON panel.lot = lots.lot
