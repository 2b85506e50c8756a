-- Where each batch stands. A flag that needs explanation and has one stands in nobody's way; one that stops a release
-- does so whoever explained it. Under a rule that the house profile set below the law no batch may go.
DELETE FROM flagged.standings;

INSERT INTO flagged.standings
WITH before AS (
    SELECT batch_flags.batch, flags.severity, coalesce(states.state, 'open') AS state
    FROM flagged.batch_flags
    JOIN flagged.flags ON flags.flag = batch_flags.flag
    LEFT JOIN history.flag_states AS states ON states.flag = flags.flag
),
counted AS (
    SELECT
        batch, count(*) FILTER (severity = 'stops release') AS stop,
        count(*) FILTER (severity = 'needs explanation' AND state = 'open') AS explain,
        count(*) FILTER (severity = 'for information') AS inform
    FROM before
    GROUP BY batch
)
SELECT
    bottlings.batch, bottlings.product, bottlings.bottled_at,
    CASE WHEN counted.stop > 0 OR EXISTS (FROM flagged.rules WHERE softened = 'below the law') THEN 'stopped'
         WHEN counted.explain > 0 THEN 'to explain' ELSE 'clear' END,
    coalesce(counted.stop, 0), coalesce(counted.explain, 0), coalesce(counted.inform, 0)
FROM derived.bottlings
LEFT JOIN counted ON counted.batch = bottlings.batch
ORDER BY bottlings.bottled_at, bottlings.batch;
