-- The genealogy as a graph: one row a lot that a run drew and a lot that the run made of it.
-- What a run made is shared out among what it drew by litres of pure alcohol; before there is alcohol by volume of wort (a kilogram
-- that is fed to the ferment as a litre), and in the mash by mass of grain, fruit or sugar. A lot that several runs made is shared out among them by what each gave;
-- what was there of it before, a cask that stood there when the book was begun, is its own part. Where that was not gauged, no share is known.
WITH drawn AS (
    SELECT run, lot, min(stage) AS stage,
           sum(alcohol_l) AS alcohol_l, sum(volume_l) AS volume_l, sum(mass_kg) AS mass_kg, sum(pieces) AS pieces, min(part) AS part,
           bool_and(part IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging')) AS carries_none
    FROM derived.gauges WHERE direction = 'in' GROUP BY run, lot
),
inputs AS (
    SELECT d.*, l.basis,
           CASE l.basis WHEN 'LPA' THEN d.alcohol_l WHEN 'L' THEN d.volume_l WHEN 'pieces' THEN d.pieces ELSE d.mass_kg END AS quantity,
           CASE d.stage WHEN 'mash' THEN CASE WHEN d.part IN ('grain', 'fruit', 'sugar') THEN d.mass_kg END
                        WHEN 'ferment' THEN CASE WHEN d.part = 'wort' THEN d.volume_l WHEN d.part IN ('grain', 'fruit', 'sugar') THEN d.mass_kg END
                        ELSE CASE WHEN NOT d.carries_none THEN d.alcohol_l END END AS weight
    FROM drawn AS d LEFT JOIN derived.lots AS l USING (lot)
),
weighed AS (
    SELECT *, weight / nullif(sum(weight) OVER (PARTITION BY run), 0) AS share_of_run FROM inputs
),
made AS (
    SELECT run, lot, min(stage) AS stage, sum(CASE stage WHEN 'mash' THEN volume_l ELSE alcohol_l END) AS quantity,
           bool_or(part = 'wort') AS is_wort, bool_or(part IN ('wash', 'hearts', 'spirit', 'liquid', 'bottles')) AS is_product
    FROM derived.gauges WHERE direction = 'out' GROUP BY run, lot
),
came AS (
    SELECT lot, CASE WHEN count(*) = count(alcohol_l) THEN sum(alcohol_l ORDER BY gauge) END AS alcohol_l
    FROM derived.openings WHERE carries_alcohol GROUP BY lot
),
outputs AS (
    SELECT m.*, CASE WHEN c.lot IS NULL AND count(*) OVER (PARTITION BY lot) = 1 THEN 1
                     ELSE m.quantity / nullif(sum(m.quantity) OVER (PARTITION BY lot) + CASE WHEN c.lot IS NULL THEN 0 ELSE c.alcohol_l END, 0) END AS share_of_lot
    FROM made AS m LEFT JOIN came AS c USING (lot)
),
useful AS (             -- what a run made that was of use: its product, and other parts that some run drew later
    SELECT run, sum(quantity) AS quantity FROM made
    WHERE CASE stage WHEN 'mash' THEN is_wort ELSE is_product OR lot IN (SELECT lot FROM drawn) END
    GROUP BY run
)
SELECT w.lot, w.run, w.stage, o.lot AS into_lot, w.quantity, w.basis,
       w.share_of_run * o.share_of_lot AS share,
       w.quantity / nullif(u.quantity, 0) * o.share_of_lot AS per_unit
FROM weighed AS w
JOIN outputs AS o USING (run)
LEFT JOIN useful AS u USING (run)
ORDER BY w.run, w.lot, o.lot
