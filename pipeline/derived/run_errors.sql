-- made from: derived.gauge_errors, derived.gauges
-- What each error gives to the sums of a run, its gauges added up with their signs.
INSERT INTO derived.run_errors BY NAME
SELECT g.run, e.error,
       sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.direction = 'in') AS alcohol_in_l,
       sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.direction = 'out') AS alcohol_out_l,
       sum(e.alcohol_l ORDER BY e.alcohol_l) FILTER (g.direction = 'out' AND g.part IN ('hearts', 'spirit', 'liquid', 'bottles')) AS hearts_l
FROM derived.gauges AS g JOIN derived.gauge_errors AS e USING (gauge)
WHERE g.part NOT IN ('grain', 'fruit', 'sugar', 'yeast', 'water', 'wort', 'botanical', 'sweetening', 'packaging')
GROUP BY g.run, e.error
ORDER BY g.run, e.error;
