-- Was each bottled batch right the first time: by what stood and had happened when it was first decided on, or, where no
-- decision is on record, by all checks so far. NULL where no check has seen it.
WITH decided AS (       -- the first decision
    SELECT batch, verdict, len(overruled) AS overruled, decided_at FROM history.decisions
    QUALIFY row_number() OVER (PARTITION BY batch ORDER BY decision) = 1
),
asked AS (
    SELECT b.batch, b.run, b.bottled_at, b.product, s.batch IS NOT NULL AS checked,
           d.verdict, d.overruled, coalesce(d.decided_at, TIMESTAMP '9999-12-31') AS until
    FROM derived.bottlings AS b LEFT JOIN decided AS d USING (batch) LEFT JOIN flagged.standings AS s USING (batch)
),
flags AS (              -- all that ever stopped a release, also those that are gone
    SELECT DISTINCT flag, run, lot, batch FROM history.flag_events WHERE severity = 'stops release'
),
before AS (             -- before which batch each stands, as in checks/flags/batch_flags.sql
    SELECT batch, flag FROM flags WHERE batch IS NOT NULL
    UNION SELECT r.batch, f.flag FROM flags AS f JOIN derived.ancestor_runs AS r ON r.run = f.run
    UNION SELECT l.batch, f.flag FROM flags AS f JOIN derived.ancestor_lots AS l ON l.lot = f.lot
),
stopped AS (            -- what was wrong stays so; what was only missing (it has no value) may come in before the decision
    SELECT asked.batch
    FROM asked JOIN before USING (batch)
    JOIN history.flag_events AS e ON e.flag = before.flag AND e.happened_at <= asked.until
    WHERE e.severity = 'stops release' OR e.happened IN ('gone', 'amended away')
    GROUP BY asked.batch, before.flag
    HAVING bool_or(e.value IS NOT NULL) OR arg_max(e.happened, e.event) <> 'gone'
),
named AS (
    SELECT amended_at, record_key ->> 'run' AS run, record_key ->> 'lot' AS lot FROM typed.amendments
),
finishing AS (          -- amendments of a batch's own last runs and of what they made
    SELECT l.batch, n.amended_at FROM named AS n JOIN derived.lineage AS l ON l.run = n.run OR l.into_lot = n.lot
    WHERE l.stage IN ('blend', 'reduce', 'filter', 'bottle')
    UNION SELECT b.batch, n.amended_at FROM named AS n JOIN derived.bottlings AS b ON b.run = n.run OR b.batch = n.lot
),
amended AS (
    SELECT batch FROM finishing JOIN asked USING (batch) WHERE finishing.amended_at <= asked.until
),
reworked AS (           -- its bottles went into another run
    SELECT DISTINCT m.lot AS batch FROM derived.movements AS m JOIN asked ON asked.batch = m.lot WHERE m.direction = 'in'
)
SELECT
    asked.batch, asked.run, asked.bottled_at AS ended_at, runs_.equipment, asked.product, runs_.operator,
    asked.verdict IS NOT NULL AS has_decision,
    CASE WHEN asked.checked THEN
        coalesce(asked.verdict, 'released') = 'released' AND coalesce(asked.overruled, 0) = 0
        AND asked.batch NOT IN (FROM stopped) AND asked.batch NOT IN (FROM amended) AND asked.batch NOT IN (FROM reworked)
    END AS is_right
FROM asked LEFT JOIN derived.runs AS runs_ ON runs_.run = asked.run
WHERE asked.bottled_at IS NOT NULL
ORDER BY asked.bottled_at, asked.batch;
