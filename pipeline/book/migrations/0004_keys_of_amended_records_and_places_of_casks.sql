-- The key of an amended record by its fields, beside the text that people read. A text of as many parts as the key has
-- fields is taken apart. Where a name itself holds the sign between them it has more: then the key is that of the record
-- that stands at the place, with what was amended of it since taken back, if its text is this one. Else it stays NULL.
ALTER TABLE typed.amendments ADD COLUMN IF NOT EXISTS record_key JSON;

CREATE TEMP TABLE keys AS FROM (VALUES
    ('intake', ['lot']), ('opening_stock', ['lot', 'vessel']), ('runs', ['run']), ('bottling', ['lot']), ('panel', ['session']),
    ('movements', ['run', 'direction', 'lot', 'part', 'vessel', 'gauged_at']),
    ('laboratory', ['sample', 'lot', 'analyte', 'replicate', 'method', 'measured_at']),
    ('fills', ['lot', 'sample_no']), ('calibrations', ['instrument', 'checked_at', 'reference_value']),
    ('stock', ['vessel', 'lot', 'gauged_at']), ('casks', ['cask']),
    ('cask_events', ['cask', 'event', 'happened_at', 'lot', 'other_cask']),
    ('dispatches', ['lot', 'document', 'customer', 'dispatched_at']), ('returns', ['lot', 'document', 'customer', 'returned_at']),
    ('samples', ['lot', 'vessel', 'taken_at', 'purpose', 'recipient']), ('destructions', ['lot', 'vessel', 'destroyed_at', 'reason']),
    ('inventory', ['counted_at', 'container', 'vessel', 'lot', 'location'])
) AS keys(kind, names);

-- the tables of these kinds that this book has
SET VARIABLE records_of_book = (
    SELECT string_agg(format('SELECT ''{0}'' AS kind, source_id, line, to_json(t) AS record FROM typed.{0} AS t', kind), ' UNION ALL ')
    FROM keys JOIN information_schema.tables ON table_schema = 'typed' AND table_name = kind
);

CREATE TEMP TABLE parted AS
WITH amended AS (
    SELECT a.*, k.names, CASE WHEN len(k.names) = 1 THEN [a.record] ELSE string_split(a.record, ' / ') END AS parts
    FROM typed.amendments AS a JOIN keys AS k USING (kind)
),
unclear AS (
    SELECT * FROM amended WHERE len(parts) <> len(names)
),
since AS (              -- what each field held at that time, of those that were amended then or later
    SELECT u.amendment, a.field, arg_min(coalesce(a.old_value, ''), a.amendment) AS value
    FROM unclear AS u JOIN typed.amendments AS a USING (kind, source_id, line)
    WHERE a.amendment >= u.amendment GROUP BY ALL
),
standing AS (           -- a line may have given several records
    SELECT kind, source_id, line, record, row_number() OVER () AS number FROM query(getvariable('records_of_book'))
),
fields AS (
    SELECT u.amendment, u.record, u.names, s.number, n.name, n.place, coalesce(b.value, s.record ->> n.name, '') AS part
    FROM unclear AS u JOIN standing AS s USING (kind, source_id, line)
    CROSS JOIN LATERAL (SELECT unnest(u.names) AS name, generate_subscripts(u.names, 1) AS place) AS n
    LEFT JOIN since AS b ON b.amendment = u.amendment AND b.field = n.name
)
SELECT amendment, names, parts FROM amended WHERE len(parts) = len(names)
UNION ALL
SELECT amendment, names, list(part ORDER BY place) FROM fields
GROUP BY amendment, names, record, number HAVING string_agg(part, ' / ' ORDER BY place) = record;

UPDATE typed.amendments SET record_key = to_json(map(parted.names, list_transform(parted.parts, lambda part: nullif(part, ''))))
FROM parted WHERE parted.amendment = amendments.amendment;

DROP TABLE parted;
DROP TABLE keys;
RESET VARIABLE records_of_book;
-- Where in its warehouse a cask lies, apart from the warehouse: row, tier, rack.
ALTER TABLE IF EXISTS typed.casks ADD COLUMN IF NOT EXISTS position VARCHAR;
ALTER TABLE IF EXISTS typed.cask_events ADD COLUMN IF NOT EXISTS position VARCHAR;
-- At which temperature a sampled content was that volume: of older records 20 °C. By which document a return had left.
ALTER TABLE typed.fills ADD COLUMN IF NOT EXISTS content_temperature_c DOUBLE;
ALTER TABLE IF EXISTS typed.returns ADD COLUMN IF NOT EXISTS dispatch_document VARCHAR;
-- The age that the label of a batch states.
ALTER TABLE typed.bottling ADD COLUMN IF NOT EXISTS label_age_years DOUBLE;
-- Sugar, starch and fructan of materials, beside the extract of grain.
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS fermentability_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS original_gravity DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS final_gravity DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS brix DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS purity_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS sugar_free_extract_g_l DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS potential_alcohol_pct_vol DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS total_sugars_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS reducing_sugars_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS sucrose_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS lactose_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS starch_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS fructan_pct DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS sugar_g_l DOUBLE;
ALTER TABLE typed.intake ADD COLUMN IF NOT EXISTS juice_l_per_100kg DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS fermentability_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS original_gravity DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS final_gravity DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS brix DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS purity_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS sugar_free_extract_g_l DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS potential_alcohol_pct_vol DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS total_sugars_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS reducing_sugars_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS sucrose_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS lactose_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS starch_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS fructan_pct DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS sugar_g_l DOUBLE;
ALTER TABLE typed.opening_stock ADD COLUMN IF NOT EXISTS juice_l_per_100kg DOUBLE;
