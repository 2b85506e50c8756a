-- One row a lot that was both gauged and measured in the laboratory: the gauge that differs most.
-- A difference counts beyond three of its own standard uncertainties and not below 0.5 % vol, the reading error
-- that a careful hand can still make with a glass alcoholmeter.
WITH compared AS (
    SELECT
        gauges.lot, gauges.run, gauges.equipment, gauges.direction, gauges.source_id, gauges.line,
        gauges.strength_pct_vol, laboratory.value AS laboratory_strength_pct_vol,
        greatest(0.5, 3 * sqrt(gauges.u_strength_pct_vol ** 2 + laboratory.u_value ** 2)) AS allowed_pct_vol
    FROM derived.gauges
    JOIN derived.laboratory ON laboratory.lot = gauges.lot AND laboratory.analyte = 'strength'
    JOIN derived.lots ON lots.lot = gauges.lot
    LEFT JOIN derived.extracts ON extracts.lot = gauges.lot
    -- what was drawn under the name of an overdrawn lot was not that lot alone, so its strength says nothing of it
    WHERE (gauges.strength_is IS NULL OR gauges.strength_is = 'true')
        -- where extract hides alcohol only strengths of distillates are of one kind: rule true-strength looks at the rest
        AND (extracts.may_hold_from IS NULL OR laboratory.preparation = 'distilled' OR gauges.part IN ('wash', 'spent'))
        AND gauges.lot NOT IN (SELECT contents FROM derived.cask_events)     -- where it rises or falls
        AND gauges.strength_pct_vol IS NOT NULL AND NOT (gauges.direction = 'in' AND coalesce(lots.overdraw, 0) > 0)
)
SELECT
    'lot ' || lot AS record, lot, run, equipment, source_id, line, strength_pct_vol, laboratory_strength_pct_vol, allowed_pct_vol,
    'gauged ' || CASE direction WHEN 'in' THEN 'into' ELSE 'out of' END || ' run ' || run
        || ', laboratory ' || printf('%.2f', laboratory_strength_pct_vol) AS note
FROM (
    -- where the laboratory's value is NULL every gauge is as good as another: still one row, not evaluated
    SELECT *, coalesce(abs(strength_pct_vol - laboratory_strength_pct_vol) - allowed_pct_vol, 0) AS excess FROM compared
)
-- of gauges that differ alike the one that the lot was made with, then by name: whatever the order of files
QUALIFY row_number() OVER (PARTITION BY lot ORDER BY round(excess, 9) DESC, direction DESC, run, source_id, line) = 1
ORDER BY lot
