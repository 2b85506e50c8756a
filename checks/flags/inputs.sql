-- The records that a flag rests on, each with the file and line that it was read from. $kinds says which kinds of record
-- the flag's subject is made from; $analyte, where the flag is of one, narrows laboratory results to it.
WITH finished AS (      -- the liquids behind a batch
    SELECT lot FROM derived.lineage WHERE batch = $batch AND depth = 1 UNION SELECT $batch
),
cask_of_lot AS (        -- the cask, where the lot is a filling of one
    SELECT cask FROM derived.cask_events WHERE contents = $lot
    UNION SELECT cask FROM derived.cask_losses WHERE contents = $lot UNION SELECT cask FROM derived.cask_stock WHERE contents = $lot
),
found AS (
    SELECT 'runs' AS kind, 'run ' || run || ' (' || stage || ')' AS what, source_id, line, NULL AS analyte FROM typed.runs
    WHERE run = $run OR run IN (SELECT run FROM derived.bottlings WHERE batch = $batch)
    UNION ALL
    SELECT 'still runs', 'run ' || run || ' on ' || equipment, source_id, line, NULL FROM typed.runs
    WHERE equipment = $equipment AND ($run IS NULL OR stage IN (SELECT stage FROM typed.runs WHERE run = $run))
    UNION ALL
    SELECT 'movements of the run', part || ' lot ' || lot || CASE direction WHEN 'in' THEN ' into ' ELSE ' out of ' END || run,
        source_id, line, NULL
    FROM typed.movements WHERE run = $run OR run IN (SELECT run FROM derived.bottlings WHERE batch = $batch)
    UNION ALL
    SELECT 'movements of the lot', part || ' lot ' || lot || CASE direction WHEN 'in' THEN ' into ' ELSE ' out of ' END || run,
        source_id, line, NULL
    FROM typed.movements WHERE lot = $lot
    UNION ALL
    SELECT 'laboratory', replace(analyte, '_', ' ') || ' of lot ' || lot || ': ' || CASE WHEN below_limit THEN '<' ELSE '' END
        || printf('%g', value) || ' ' || unit, source_id, line, analyte
    FROM typed.laboratory WHERE lot = $lot OR lot IN (FROM finished)
    UNION ALL
    SELECT 'intake', material || ' lot ' || lot || CASE origin WHEN 'opening' THEN ' (opening inventory)' ELSE '' END, source_id, line, NULL
    FROM derived.openings
    WHERE lot = $lot OR lot IN (SELECT lot FROM typed.movements WHERE run = $run AND direction = 'in')
    UNION ALL
    SELECT 'cask events', event || ' cask ' || cask || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', happened_at)), '%Y-%m-%d'), source_id, line, NULL
    FROM typed.cask_events WHERE cask IN (FROM cask_of_lot)
    UNION ALL
    SELECT 'casks behind the batch', event || ' cask ' || cask || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', happened_at)), '%Y-%m-%d'), source_id, line, NULL
    FROM derived.cask_events WHERE event IN ('filled', 'drawn', 'emptied') AND contents IN (SELECT lot FROM derived.ancestor_lots WHERE batch = $batch)
    UNION ALL
    SELECT 'casks', 'cask ' || cask, source_id, line, NULL FROM typed.casks WHERE cask IN (FROM cask_of_lot)
    UNION ALL
    SELECT 'materials behind the batch', material || ' lot ' || lot, source_id, line, NULL
    FROM derived.openings
    WHERE kind NOT IN ('packaging', 'water') AND lot IN (SELECT lot FROM derived.lineage WHERE batch = $batch)
    UNION ALL
    SELECT 'bottling', 'bottling of ' || lot, source_id, line, NULL FROM typed.bottling WHERE lot = $batch
    UNION ALL
    SELECT 'fills', 'fill ' || sample_no || ': ' || printf('%g', net_content_ml) || ' mL', source_id, line, NULL
    FROM typed.fills WHERE lot = $batch
    UNION ALL
    SELECT 'panel', 'session ' || session, source_id, line, NULL FROM typed.panel WHERE lot = $lot
    UNION ALL
    SELECT 'calibrations', 'check of ' || instrument || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', checked_at)), '%Y-%m-%d'), source_id, line, NULL
    FROM typed.calibrations WHERE instrument = $equipment
    UNION ALL
    SELECT 'stock', 'dip of ' || vessel || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', gauged_at)), '%Y-%m-%d'), source_id, line, NULL
    FROM typed.stock WHERE lot = $lot
    UNION ALL
    SELECT 'bottling of the lot', 'bottling of ' || lot, source_id, line, NULL FROM typed.bottling WHERE lot = $lot
    UNION ALL
    SELECT 'removals', kind || ' on ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', removed_at)), '%Y-%m-%d') || coalesce(' by ' || document, ''), source_id, line, NULL
    FROM derived.removals WHERE lot = $lot
    UNION ALL
    SELECT 'counts', 'count of ' || strftime(timezone(getvariable('house_zone'), timezone('UTC', counted_at)), '%Y-%m-%d'), source_id, line, NULL
    FROM typed.inventory WHERE lot = $lot OR vessel IN (FROM cask_of_lot)
),
kept AS (
    SELECT * FROM found WHERE list_contains($kinds, kind)
)
SELECT DISTINCT
    kept.what, files.name || coalesce(', sheet ' || sources.sheet, '') || ':' || kept.line AS place, files.name, kept.line
FROM kept
LEFT JOIN landed.sources AS sources ON sources.source_id = kept.source_id
LEFT JOIN received.files AS files ON files.file_id = sources.file_id
WHERE kind <> 'laboratory' OR analyte = $analyte OR $analyte NOT IN (SELECT analyte FROM kept WHERE kind = 'laboratory')
    OR $analyte::VARCHAR IS NULL
ORDER BY files.name, kept.line, kept.what
