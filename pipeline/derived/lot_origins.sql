-- With which lots alcohol began: what ferments made, what came in, what stood there; a lot of two origins is of neither alone.
WITH fermented AS (
    SELECT g.lot, 'own' AS origin, sum(f.grain_kg * g.alcohol_l / nullif(f.alcohol_l, 0)) / nullif(sum(g.alcohol_l), 0) AS material_kg_per_l
    FROM derived.gauges AS g LEFT JOIN derived.ferment_yields AS f USING (run)
    WHERE g.stage = 'ferment' AND g.direction = 'out' AND g.part = 'wash'
    GROUP BY g.lot
),
came AS (
    SELECT DISTINCT lot, CASE origin WHEN 'received' THEN 'bought' ELSE 'opening' END AS origin, 0.0 AS material_kg_per_l
    FROM derived.openings WHERE carries_alcohol
),
begun AS (
    FROM fermented UNION ALL FROM came
)
SELECT lot, (min(origin) = 'own')::INTEGER::DOUBLE AS own_share, (min(origin) = 'bought')::INTEGER::DOUBLE AS bought_share,
       (min(origin) = 'opening')::INTEGER::DOUBLE AS opening_share, min(material_kg_per_l) AS material_kg_per_l
FROM begun GROUP BY lot HAVING count(*) = 1
ORDER BY lot
