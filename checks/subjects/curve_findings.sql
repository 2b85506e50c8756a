-- One row a still run with a log and kind of fault that a log can have: how often it was found in that log.
WITH kinds AS (
    SELECT unnest(['stuck', 'saturated', 'drift', 'spike', 'clock step', 'duplicate', 'irregular sampling', 'pot off equilibrium']) AS kind
),
found AS (              -- "off equilibrium" by the pot alone is a fault of its own; by the vapour it is the curve's residual
    SELECT findings.run, findings.tag, findings.detail, findings.from_at,
        CASE WHEN findings.kind = 'off equilibrium' THEN 'pot off equilibrium' ELSE findings.kind END AS kind
    FROM derived.curve_findings AS findings JOIN derived.run_curves AS curves USING (run)
    WHERE findings.kind <> 'off equilibrium'
        OR coalesce(abs(curves.vapour_residual_c) <= 2.5 * curves.u_vapour_residual_c, true)
),
counted AS (
    SELECT run, kind, count(*) AS times,
        string_agg(coalesce(replace(regexp_replace(tag, '_(c|l|l_h|kg_h|kpa|pct_vol)$', ''), '_', ' ') || ' ', '') || detail, '; ' ORDER BY from_at, tag) AS note
    FROM found GROUP BY run, kind
)
SELECT
    'run ' || curves.run || ', its log: ' || kinds.kind AS record, curves.run, curves.equipment, runs.source_id, runs.line,
    counted.note, kinds.kind, coalesce(counted.times, 0) AS times_found
FROM derived.run_curves AS curves
CROSS JOIN kinds
JOIN derived.runs ON runs.run = curves.run
LEFT JOIN counted ON counted.run = curves.run AND counted.kind = kinds.kind
ORDER BY runs.started_at, curves.run, kinds.kind
