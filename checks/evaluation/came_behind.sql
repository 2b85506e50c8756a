-- Spirit behind each batch that was bought, and that stood there when the book was begun.
SELECT a.batch, list(DISTINCT o.lot ORDER BY o.lot) FILTER (o.origin = 'received' AND o.kind = 'spirit') AS bought,
       list(DISTINCT o.lot ORDER BY o.lot) FILTER (o.origin = 'opening' AND o.carries_alcohol) AS opened
FROM derived.ancestor_lots AS a LEFT JOIN derived.openings AS o USING (lot) GROUP BY a.batch
