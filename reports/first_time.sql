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
events AS (
    SELECT * FROM history.flag_events WHERE severity = 'stops release'
),
stops AS (              -- as checks/batch_flags.sql joins flags to batches, but for flags that are gone as well; the few
                        -- events come first, since in ten years lineage has millions of rows
    SELECT batch AS before, * FROM events WHERE batch IS NOT NULL
    UNION BY NAME SELECT lineage.batch AS before, e.* FROM events AS e JOIN derived.lineage ON lineage.run = e.run
    UNION BY NAME SELECT b.batch AS before, e.* FROM events AS e JOIN derived.bottlings AS b ON b.run = e.run
    UNION BY NAME SELECT lineage.batch AS before, e.* FROM events AS e JOIN derived.lineage ON lineage.lot = e.lot
    UNION BY NAME SELECT lineage.batch AS before, e.* FROM events AS e JOIN derived.lineage ON lineage.into_lot = e.lot
    UNION BY NAME SELECT lineage.batch AS before, e.* FROM events AS e JOIN derived.gauges ON gauges.lot = e.lot
    JOIN derived.lineage ON lineage.run = gauges.run
    UNION BY NAME SELECT b.batch AS before, e.* FROM events AS e JOIN derived.bottlings AS b ON b.batch = e.lot
),
stopped AS (            -- what was wrong stays so; what was only missing (it has no value) may come in before the decision
    SELECT asked.batch
    FROM asked JOIN stops ON stops.before = asked.batch AND stops.happened_at <= asked.until
    GROUP BY asked.batch, stops.flag
    HAVING bool_or(stops.value IS NOT NULL) OR arg_max(stops.happened, stops.event) <> 'gone'
),
finishing AS (          -- names of its own last runs and of what they made
    SELECT batch, unnest([run, into_lot]) AS name FROM derived.lineage WHERE stage IN ('blend', 'reduce', 'filter', 'bottle')
    UNION SELECT batch, unnest([run, batch]) FROM derived.bottlings
),
amended AS (
    SELECT asked.batch
    FROM (SELECT amended_at, unnest(string_split(record, ' / ')) AS name FROM typed.amendments) AS a
    JOIN finishing USING (name) JOIN asked USING (batch)
    WHERE a.amended_at <= asked.until
),
reworked AS (           -- its bottles went into another run
    SELECT lot AS batch FROM typed.movements WHERE direction = 'in'
)
SELECT
    asked.batch, asked.run, asked.bottled_at AS ended_at, runs_.equipment, asked.product, runs_.operator,
    asked.verdict IS NOT NULL AS has_decision,
    CASE WHEN asked.checked THEN
        coalesce(asked.verdict, 'released') = 'released' AND coalesce(asked.overruled, 0) = 0
        AND asked.batch NOT IN (FROM stopped) AND asked.batch NOT IN (FROM amended) AND asked.batch NOT IN (FROM reworked)
    END AS is_right
FROM asked LEFT JOIN typed.runs AS runs_ ON runs_.run = asked.run
WHERE asked.bottled_at IS NOT NULL
ORDER BY asked.bottled_at, asked.batch;
