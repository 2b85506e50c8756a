-- Every run and lot behind each bottled lot: from the lot to the run that made it, to the lots that this run drew.
WITH RECURSIVE made AS (
    SELECT DISTINCT lot, run FROM typed.movements WHERE direction = 'out'
),
drawn AS (
    SELECT run, lot,
           sum(alcohol_l) AS alcohol_l, sum(volume_l) AS volume_l, sum(mass_kg) AS mass_kg,
           bool_and(part IN ('grain', 'fruit', 'yeast', 'water', 'wort', 'botanical', 'packaging')) AS carries_none,
           min(part) AS part, min(stage) AS stage
    FROM derived.gauges WHERE direction = 'in' GROUP BY run, lot
),
outputs AS (             -- what a run made that was of use: its product, and other parts that some run drew later
    SELECT g.run,
           CASE any_value(g.stage) WHEN 'mash' THEN sum(g.volume_l) FILTER (g.part = 'wort')
                ELSE sum(g.alcohol_l) FILTER (g.part IN ('wash', 'hearts', 'spirit', 'liquid', 'bottles')
                                              OR g.lot IN (SELECT lot FROM drawn)) END AS useful_output
    FROM derived.gauges AS g WHERE g.direction = 'out' GROUP BY g.run
),
steps AS (
    SELECT b.lot AS batch, m.run, d.lot, m.lot AS into_lot, 1 AS depth
    FROM typed.bottling AS b
    JOIN made AS m ON m.lot = b.lot
    JOIN drawn AS d ON d.run = m.run
    UNION                   -- a set, so that a lot reached on two ways of the same length is followed once
    SELECT s.batch, m.run, d.lot, m.lot, s.depth + 1
    FROM steps AS s
    JOIN made AS m ON m.lot = s.lot
    JOIN drawn AS d ON d.run = m.run
    WHERE s.depth < 60      -- far beyond any real chain; a lot that feeds itself ends here
)
SELECT s.batch, s.run, d.stage, s.lot, s.into_lot, min(s.depth) AS depth,
       -- what the run's inputs are weighed by when its output is shared out among them
       any_value(CASE d.stage WHEN 'mash' THEN CASE WHEN d.part IN ('grain', 'fruit') THEN d.mass_kg END
                              WHEN 'ferment' THEN CASE WHEN d.part = 'wort' THEN d.volume_l END
                              ELSE CASE WHEN d.carries_none THEN NULL ELSE d.alcohol_l END END) AS weight,
       any_value(CASE WHEN l.basis = 'LPA' THEN d.alcohol_l WHEN l.basis = 'L' THEN d.volume_l ELSE d.mass_kg END) AS quantity,
       any_value(l.basis) AS basis,
       any_value(o.useful_output) AS useful_output,
       any_value(b.alcohol_l) AS batch_alcohol_l
FROM steps AS s
JOIN drawn AS d ON d.run = s.run AND d.lot = s.lot
LEFT JOIN derived.lots AS l ON l.lot = s.lot
LEFT JOIN outputs AS o ON o.run = s.run
LEFT JOIN (SELECT lot, sum(alcohol_l) AS alcohol_l FROM derived.gauges WHERE part = 'bottles' GROUP BY lot) AS b
       ON b.lot = s.batch
GROUP BY s.batch, s.run, d.stage, s.lot, s.into_lot
ORDER BY s.batch, depth, s.run, s.lot, s.into_lot
