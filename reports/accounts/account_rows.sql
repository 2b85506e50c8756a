-- The account of one month, a row a place. Parameter: the first day of the month.
-- Closing is the sum of the row, and every figure is a sum of entries of 0.01 LPA: nothing is rounded on the way.
WITH places AS (        -- where each cask lay at the end of the month
    SELECT cask, last(location ORDER BY from_at NULLS FIRST) AS location FROM derived.cask_places
    WHERE from_at IS NULL OR date_trunc('month', timezone(getvariable('house_zone'), timezone('UTC', from_at)))::DATE <= $1
    GROUP BY cask
)
SELECT place, is_vessel, is_vessel AND place IN (FROM derived.casks) AS is_cask, any_value(p.location) AS location,
       coalesce(sum(alcohol_l) FILTER (month < $1), 0) AS opening,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'inventory'), 0) AS inventory,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'received'), 0) AS received,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'produced'), 0) AS produced,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'returned'), 0) AS returned,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'came back'), 0) AS came_back,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'transferred'), 0) AS transferred,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'used'), 0) AS used,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'bottled'), 0) AS bottled,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'dispatched'), 0) AS dispatched,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'sampled'), 0) AS sampled,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'destroyed'), 0) AS destroyed,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'cask loss'), 0) AS cask_loss,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'cask gain'), 0) AS cask_gain,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'lost'), 0) AS lost,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'explained'), 0) AS explained,
       coalesce(sum(alcohol_l) FILTER (month = $1 AND entry = 'unexplained'), 0) AS unexplained,
       coalesce(sum(alcohol_l) FILTER (month <= $1), 0) AS closing
FROM derived.account_entries LEFT JOIN places AS p ON p.cask = place
WHERE month <= $1
GROUP BY place, is_vessel
HAVING opening <> 0 OR closing <> 0 OR count(*) FILTER (month = $1) > 0
ORDER BY is_vessel DESC, place
