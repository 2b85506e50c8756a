-- What vessels and runs at work still hold of the lots that a lot went into (offered as "reached"). Parameter: that lot itself.
-- Parts that nothing drew (heads, tails, spent) hold it as well; their alcohol counts as lost on the way to what was of use.
WITH held AS (
    SELECT e.lot, e.place AS vessel, sum(e.alcohol_l)::DOUBLE AS held_l
    FROM derived.account_entries AS e SEMI JOIN reached AS r ON r.lot = e.lot
    WHERE e.is_vessel
    GROUP BY e.lot, e.place HAVING sum(e.alcohol_l) > 0
),
at_work AS (            -- drawn by a run that has not made anything yet
    SELECT g.lot, 'at work in ' || g.run AS vessel, sum(g.alcohol_l) AS held_l
    FROM derived.gauges AS g SEMI JOIN reached AS r ON r.lot = g.lot
    WHERE g.direction = 'in' AND g.run NOT IN (SELECT run FROM derived.gauges WHERE direction = 'out')
    GROUP BY g.lot, g.run
),
waiting AS (            -- wort that no run has drawn
    SELECT l.lot, coalesce(g.vessel, 'vessel not named') AS vessel, g.volume_l
    FROM derived.lots AS l SEMI JOIN reached AS r ON r.lot = l.lot
    JOIN derived.gauges AS g ON g.lot = l.lot AND g.direction = 'out'
    WHERE l.basis = 'L' AND l.origin = 'produced' AND l.drawn_by_runs = 0
)
SELECT h.lot, h.vessel, h.held_l, r.share, l.material,
       CASE WHEN h.lot = $1 OR (l.material IN ('foreshots', 'heads', 'tails', 'feints', 'spent') AND l.drawn_by_runs = 0) THEN NULL
            ELSE r.per_unit * h.held_l END AS consumed
FROM held AS h JOIN reached AS r USING (lot) JOIN derived.lots AS l USING (lot)
UNION ALL
SELECT w.lot, w.vessel, w.held_l, r.share, l.material, r.per_unit * w.held_l
FROM at_work AS w JOIN reached AS r USING (lot) JOIN derived.lots AS l USING (lot)
UNION ALL
SELECT w.lot, w.vessel, NULL, r.share, l.material, r.per_unit * w.volume_l
FROM waiting AS w JOIN reached AS r USING (lot) JOIN derived.lots AS l USING (lot)
ORDER BY vessel, lot
