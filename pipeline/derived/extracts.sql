-- What is dissolved in each lot, and so hides alcohol from glass and density: as the laboratory measured it, else what may
-- be, from what went into it. Extract stays behind in a still, so distillates hold none and stillage holds all. A lot in
-- which the laboratory found next to none (parameter, g/L) passes none on, and what lay in oak may hold extract from then on.
INSERT INTO derived.extracts BY NAME
WITH RECURSIVE measured AS (
    SELECT lot, max_by(value * CASE unit WHEN 'mg/L' THEN 0.001 ELSE 1 END, value) AS extract_g_l,
           max_by(u_value * CASE unit WHEN 'mg/L' THEN 0.001 ELSE 1 END, (value, coalesce(u_value, -1))) AS u_extract_g_l
    FROM derived.laboratory
    WHERE analyte IN ('dry_extract', 'sugar', 'sweetening') AND unit IN ('g/L', 'mg/L') AND value IS NOT NULL
      AND NOT (below_limit AND value * CASE unit WHEN 'mg/L' THEN 0.001 ELSE 1 END > $negligible)
    GROUP BY lot
),
oak AS (
    SELECT code FROM derived.house_vessels WHERE material = 'oak' UNION SELECT cask FROM derived.cask_events
),
in_oak AS (
    SELECT DISTINCT lot FROM (
        SELECT lot, vessel FROM derived.movements WHERE part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'botanical', 'sweetening', 'packaging')
        UNION ALL SELECT lot, vessel FROM derived.dips UNION ALL SELECT lot, vessel FROM typed.opening_stock
    ) WHERE vessel IN (FROM oak)
),
came AS (
    SELECT lot, kind FROM typed.intake UNION SELECT lot, kind FROM typed.opening_stock
),
drawn AS (              -- what each run drew, and what of it brings extract
    SELECT m.run, m.lot,
           CASE WHEN 'sweetening' IN (m.part, i.kind) THEN 'sweetening'
                WHEN 'fruit' IN (m.part, i.kind) THEN 'fruit'
                WHEN 'sugar' IN (m.part, i.kind) THEN 'sugar'
                WHEN 'botanical' IN (m.part, i.kind) THEN 'botanical'
                WHEN m.part IN ('grain', 'wort', 'wash') OR i.kind IN ('malt', 'adjunct') THEN 'grain'
                WHEN m.part = 'liquid' AND i.kind = 'other' THEN 'other' END AS brings
    FROM derived.movements AS m LEFT JOIN came AS i USING (lot)
    WHERE m.direction = 'in'
),
kept AS (               -- what runs made without leaving the extract behind
    SELECT DISTINCT m.run, r.stage, m.lot, r.equipment IN (FROM oak) AS by_oak
    FROM derived.movements AS m JOIN derived.runs AS r USING (run)
    WHERE m.direction = 'out' AND m.part <> 'wort' AND (r.stage NOT IN ('strip', 'rectify', 'botanical') OR m.part = 'spent')
      AND m.lot NOT IN (SELECT lot FROM measured WHERE extract_g_l <= $negligible)
),
holding AS (            -- since it was made, or only since it lay in oak
    SELECT k.lot, d.brings AS through, true AS since_made FROM kept AS k JOIN drawn AS d USING (run) WHERE d.brings IS NOT NULL
    UNION SELECT lot, 'grain', true FROM derived.movements WHERE part = 'wash'
    UNION SELECT lot, 'cask', true FROM kept WHERE by_oak
    UNION SELECT lot, 'cask', false FROM in_oak WHERE lot NOT IN (SELECT lot FROM measured WHERE extract_g_l <= $negligible)
    UNION SELECT lot, 'laboratory', lot NOT IN (FROM in_oak) FROM measured WHERE extract_g_l > $negligible
    UNION SELECT k.lot, h.through, true FROM holding AS h JOIN drawn AS d USING (lot) JOIN kept AS k USING (run)
),
by_lot AS (
    SELECT lot, string_agg(DISTINCT through, ', ' ORDER BY through) AS may_hold_from,
           bool_or(since_made) AS since_made
    FROM holding GROUP BY lot
)
SELECT coalesce(b.lot, m.lot) AS lot, m.extract_g_l, m.u_extract_g_l, b.may_hold_from, coalesce(b.since_made, false) AS since_made
FROM by_lot AS b FULL JOIN measured AS m USING (lot)
ORDER BY 1
