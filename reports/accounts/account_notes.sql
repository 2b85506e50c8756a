-- What of the month needs a word, one row each, in reading order. Parameter: the first day of the month.
WITH dated AS (
    SELECT *, date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', gauged_at)))::DATE AS month
    FROM derived.strength_checks WHERE verdict IN ('suspect', 'one of two is wrong')
),
below AS (              -- what the book holds less than nothing of
    SELECT lot, place, sum(alcohol_l)::DOUBLE AS book_l FROM derived.account_entries
    WHERE is_vessel AND lot IS NOT NULL AND month <= $1 GROUP BY lot, place HAVING sum(alcohol_l) < 0
),
below_errors AS (
    SELECT lot, place, error, sum(alcohol_l ORDER BY alcohol_l) AS alcohol_l
    FROM derived.entry_errors SEMI JOIN below USING (lot, place) WHERE is_vessel AND month <= $1 GROUP BY lot, place, error
),
overdrawn AS (
    SELECT b.lot, b.place, b.book_l, coalesce(sqrt(sum(e.alcohol_l ** 2 ORDER BY e.error)), 0) AS u_book_l
    FROM below AS b LEFT JOIN below_errors AS e USING (lot, place) GROUP BY b.lot, b.place, b.book_l
)
SELECT 1 AS part, 'unexplained' AS what, coalesce(run, lot) AS record, place, -sum(alcohol_l)::DOUBLE AS value_l, max(u_alcohol_l) AS u_l,
       min(note) AS words
FROM derived.account_entries WHERE month = $1 AND entry = 'unexplained' GROUP BY coalesce(run, lot), place, booked_at
UNION ALL
SELECT 2, 'rise of losses', equipment || ' (' || stage || ')', equipment, excess_l, u_excess_l,
       'more than usual from ' || first_run || ' to ' || last_run || ', ' || runs || ' runs; significant with ' || signal_run || ' in week ' || week
FROM derived.loss_signals
WHERE date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', first_at)))::DATE <= $1
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', last_at)))::DATE >= $1
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', signal_at)))::DATE <= $1
UNION ALL
SELECT 3, 'suspect reading', s.lot, coalesce(g.vessel, s.run), s.strength_pct_vol, s.u_strength_pct_vol,
       CASE WHEN s.verdict = 'suspect' THEN 'the ' || s.kind || ' reading' || coalesce(' with ' || m.instrument, '') ELSE 'one of two readings' END
           || ' gives ' || printf('%.2f', s.strength_pct_vol) || ' % vol, all readings of the lot together '
           || printf('%.2f', s.mean_strength_pct_vol) || ' % vol (' || printf('%.1f', s.z) || ' standard uncertainties apart)'
FROM dated AS s
LEFT JOIN derived.gauges AS g ON g.source_id = s.source_id AND g.line = s.line AND g.lot = s.lot
LEFT JOIN derived.movements AS m ON m.source_id = s.source_id AND m.line = s.line AND m.lot = s.lot
WHERE s.month = $1
UNION ALL
SELECT 4, 'suspect gauge', coalesce(r.lot, r.run), r.run, r.measured_l, r.u_measured_l,
       CASE r.kind WHEN 'loss' THEN 'the run lost ' || printf('%.2f', r.reconciled_l) || ' LPA by the gauges around it, not the usual '
                   ELSE 'the gauges around it give ' || printf('%.2f', r.reconciled_l) || ' LPA, it gave ' END
           || printf('%.2f', r.measured_l) || ' LPA' || CASE WHEN r.alike IS NULL THEN '' ELSE '; heads, tails, spent and loss of a run cannot be told apart' END
FROM derived.reconciled AS r
WHERE r.verdict = 'suspect' AND r.z IS NOT NULL
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', r.gauged_at)))::DATE = $1
UNION ALL               -- by the book at the end of the month, beyond twice its uncertainty
SELECT 5, 'overdrawn', lot, place, book_l, u_book_l,
       'more was drawn of it than it held: a draw is booked on the wrong lot, or a gauge is wrong'
FROM overdrawn WHERE book_l < -2 * u_book_l
UNION ALL
SELECT 6, 'not computed', g.lot, g.run, NULL, NULL, g.not_computed
FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
WHERE g.not_computed IS NOT NULL
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', coalesce(g.gauged_at, r.ended_at, r.started_at))))::DATE = $1
UNION ALL
SELECT 7, 'not in the account', lot, vessel, NULL, NULL,
       CASE origin WHEN 'opening' THEN 'spirit of the opening inventory' ELSE 'spirit received' END || ', its alcohol is not known: ' || not_computed
FROM derived.openings
WHERE carries_alcohol AND alcohol_l IS NULL
  AND date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', came_at)))::DATE = $1
UNION ALL
SELECT 8, 'without a time', g.lot, g.run, g.alcohol_l, g.u_alcohol_l, 'neither the gauge nor its run has a time: not in any month'
FROM derived.gauges AS g LEFT JOIN derived.runs AS r USING (run)
WHERE g.gauged_at IS NULL AND r.started_at IS NULL AND g.alcohol_l <> 0
ORDER BY part, record, place
