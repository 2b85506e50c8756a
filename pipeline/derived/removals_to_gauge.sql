-- What left the account otherwise than by a run, or came back to it, as rows to gauge: dispatches, returns, samples and
-- destructions, and what casks gave up as samples or lost by a leak. Of a cask it is what the cask held at the time.
-- Bottles are counted: each stands for its part of the pure alcohol that was bottled, or of the opening inventory.
WITH removed AS (
    SELECT 'dispatched' AS kind, lot, vessel, dispatched_at AS removed_at, customer AS to_whom, duty_status, document, NULL AS dispatch_document, NULL AS reason, person, NULL AS witness,
           volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, mass_kg, alcohol_l, pieces, source_id, line
    FROM typed.dispatches
    UNION ALL
    SELECT 'returned', lot, vessel, returned_at, customer, duty_status, document, dispatch_document, reason, person, NULL,
           volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, mass_kg, alcohol_l, pieces, source_id, line
    FROM typed.returns
    UNION ALL
    SELECT 'sampled', lot, vessel, taken_at, recipient, NULL, document, NULL, purpose, person, NULL,
           volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, mass_kg, alcohol_l, pieces, source_id, line
    FROM typed.samples
    UNION ALL
    SELECT 'destroyed', lot, vessel, destroyed_at, NULL, NULL, document, NULL, reason, person, witness,
           volume_at_t_l, volume_temperature_c, strength_reading, reading_kind, reading_temperature_c, instrument, preparation, mass_kg, alcohol_l, pieces, source_id, line
    FROM typed.destructions
),
of_casks AS (
    SELECT r.source_id, r.line, r.kind, r.vessel || '/' || (1 + count(e.cask)) AS contents
    FROM removed AS r LEFT JOIN derived.cask_events AS e ON e.cask = r.vessel AND e.event = 'emptied' AND e.happened_at < r.removed_at
    WHERE r.vessel IN (FROM derived.casks)
    GROUP BY r.source_id, r.line, r.kind, r.vessel
),
cask_strengths AS (     -- what a cask was last found to hold: a sample is as strong, and so is what leaks
    SELECT cask, contents, happened_at AS read_at, strength_reading, reading_kind, reading_temperature_c, instrument, preparation
    FROM derived.cask_events WHERE strength_reading IS NOT NULL
    UNION ALL
    SELECT vessel, vessel || '/1', counted_at, strength_reading, reading_kind, reading_temperature_c, instrument, preparation
    FROM typed.opening_stock WHERE strength_reading IS NOT NULL AND vessel IN (FROM derived.casks)
),
from_casks AS (
    SELECT e.source_id, e.line, e.event, max_by(s, s.read_at) AS last_read
    FROM derived.cask_events AS e JOIN cask_strengths AS s ON s.contents = e.contents AND s.read_at <= e.happened_at
    WHERE e.event IN ('sampled', 'lost') AND e.strength_reading IS NULL AND e.volume_at_t_l + coalesce(e.alcohol_l, 0) IS NOT NULL
    GROUP BY e.source_id, e.line, e.event
),
bottles AS (            -- litres of pure alcohol in one
    SELECT lot, sum(alcohol_l) / nullif(sum(pieces), 0) AS each_l FROM (
        SELECT lot, alcohol_l, pieces FROM derived.gauges WHERE part = 'bottles' AND direction = 'out'
        UNION ALL SELECT lot, alcohol_l, pieces FROM derived.openings WHERE kind = 'bottled spirit'
    ) GROUP BY lot
),
every AS (
    SELECT r.* REPLACE (coalesce(o.contents, r.lot) AS lot, coalesce(r.alcohol_l, r.pieces * b.each_l) AS alcohol_l), b.lot IS NOT NULL AS is_bottled
    FROM removed AS r LEFT JOIN of_casks AS o ON o.source_id = r.source_id AND o.line = r.line AND o.kind = r.kind
    LEFT JOIN bottles AS b ON b.lot = r.lot
    UNION ALL
    SELECT event, contents, cask, happened_at, NULL, NULL, document, NULL, reason, person, NULL,
           volume_at_t_l, volume_temperature_c, coalesce(c.strength_reading, last_read.strength_reading), coalesce(c.reading_kind, last_read.reading_kind),
           coalesce(c.reading_temperature_c, last_read.reading_temperature_c), coalesce(c.instrument, last_read.instrument), coalesce(c.preparation, last_read.preparation),
           CASE WHEN event = 'sampled' OR gross_kg IS NULL THEN net_kg END, alcohol_l, NULL, source_id, line, false
    FROM derived.cask_events AS c LEFT JOIN from_casks USING (source_id, line, event) WHERE event IN ('sampled', 'lost')
)
-- a volume without a temperature is one at 20 °C, or at 60 °F where its strength is a US proof
SELECT e.* REPLACE (coalesce(e.volume_temperature_c, CASE WHEN starts_with(e.reading_kind, 'us_proof') THEN 140 / 9 ELSE 20 END) AS volume_temperature_c)
           RENAME (alcohol_l AS stated_alcohol_l), 'spirit' AS part, e.vessel AS measured_in,
       s.value AS known_strength_pct_vol, s.u_value AS u_known_strength_pct_vol, s.preparation AS known_preparation,
       CASE WHEN s.value IS NOT NULL THEN 'laboratory' END AS known_from, s.instrument AS known_instrument, s.scatter AS known_scatter, s.lot AS known_for,
       concat_ws(' ', e.kind, e.lot, e.vessel, e.removed_at, e.document, e.to_whom, e.source_id, e.line) AS named, named AS read_for,
       x.extract_g_l, x.u_extract_g_l, x.may_hold_from IS NOT NULL AS may_hold
FROM every AS e
LEFT JOIN derived.laboratory AS s ON s.lot = e.lot AND s.analyte = 'strength' AND s.value IS NOT NULL
LEFT JOIN derived.extracts AS x ON x.lot = e.lot
ORDER BY e.kind, e.lot, e.removed_at, e.vessel, e.document, e.to_whom, e.source_id, e.line
