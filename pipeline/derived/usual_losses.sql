-- made from: derived.cask_events, derived.lots, derived.run_balances, derived.used_up_lots
-- What a run of each stage, and a used-up lot of each kind, usually loses: the median of the house's own, with the
-- scaled median absolute deviation (1.4826 makes it a standard deviation for normal scatter). An error that one instrument
-- gives to all runs alike stands in the median, so it is not counted again. The scatter holds that of the gauges as well:
-- profiles state more than instruments scatter, and taking that off would leave the losses next to none and accuse runs
-- that lost no more than usual (tried on the sample logs). So the tests are slow to accuse. Fewer than eight are no usage.
INSERT INTO derived.usual_losses BY NAME
WITH losses AS (
    SELECT 'run' AS of_what, stage AS kind, loss_l / alcohol_in_l AS fraction
    FROM derived.run_balances WHERE loss_l IS NOT NULL AND alcohol_in_l > 0
    UNION ALL
    SELECT 'lot', l.material, u.left_l / l.quantity_in
    FROM derived.used_up_lots AS u JOIN derived.lots AS l USING (lot)
    WHERE lot NOT IN (SELECT contents FROM derived.cask_events)     -- casks lose by years, not by lots
)
SELECT of_what, kind, count(*) AS number, median(fraction) AS fraction,
       greatest(1.4826 * mad(fraction), 0.0005) AS scatter     -- never more certain than half a thousandth
FROM losses
GROUP BY of_what, kind
HAVING count(*) >= 8
ORDER BY of_what, kind;
