-- Batches to which water was added after the cask.
SELECT DISTINCT l.batch FROM derived.lineage AS l JOIN derived.gauges AS g ON g.run = l.run AND g.direction = 'in'
WHERE g.part = 'water' AND l.stage NOT IN ('mash', 'ferment', 'strip', 'rectify', 'fill')
