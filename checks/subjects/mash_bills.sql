-- One row a batch and grain that its type asks of its mash: the share of the grain, by mass, in what was mashed for it.
-- A material that no list knows may be the grain or not: where both ways lead to one answer that is the answer, else the
-- record does not show the share. It shows none either where spirit or wash was bought in.
WITH mashed AS (
    SELECT batch, lot, mass_kg, string_split(regexp_replace(lower(strip_accents(material)), '[^\p{L}\d]+', ' ', 'g'), ' ') AS words
    FROM derived.batch_bill WHERE origin = 'fermented'
),
asked AS (
    SELECT products.batch, shares.grain, shares.least_share
    FROM batch_products AS products
    JOIN limit_grain_shares AS shares
        ON shares.category = products.category AND shares.jurisdiction = products.jurisdiction
        AND products.law_of >= shares.valid_from AND products.law_of < shares.valid_until
),
judged AS (
    SELECT
        asked.batch, asked.grain, asked.least_share, count(mashed.lot) AS lots,
        count(mashed.lot) > 0 AND count(mass_kg) = count(mashed.lot) AS is_weighed,
        coalesce(sum(mass_kg) FILTER (names.is_grain), 0) / nullif(sum(mass_kg), 0) AS surely,
        coalesce(sum(mass_kg) FILTER (NOT names.is_known), 0) / nullif(sum(mass_kg), 0) AS unknown
    FROM asked
    LEFT JOIN mashed ON mashed.batch = asked.batch
    LEFT JOIN LATERAL (
        SELECT coalesce(bool_or(limits.grain = asked.grain), false) AS is_grain, count(*) > 0 AS is_known
        FROM limit_grains AS limits
        WHERE list_has_all(mashed.words, limits.words)
    ) AS names ON true
    GROUP BY asked.batch, asked.grain, asked.least_share
),
bought AS (
    SELECT DISTINCT batch FROM derived.batch_bill WHERE origin <> 'fermented'
)
SELECT
    'batch ' || judged.batch || ', ' || judged.grain AS record, judged.batch, bottling.source_id, bottling.line,
    judged.grain, judged.least_share,
    CASE
        WHEN is_weighed AND bought.batch IS NULL AND (unknown = 0 OR surely >= least_share OR surely + unknown < least_share)
        THEN surely
    END AS share,
    concat_ws(', ',
        CASE WHEN bought.batch IS NOT NULL THEN 'spirit or wash was bought in' END,
        CASE WHEN lots = 0 THEN 'no mash on record' WHEN NOT is_weighed THEN 'not all of the mash was weighed' END,
        CASE WHEN unknown > 0 THEN printf('%.0f %% of the mash under names that say no grain', 100 * unknown) END) AS note
FROM judged
JOIN typed.bottling ON bottling.lot = judged.batch
LEFT JOIN bought ON bought.batch = judged.batch
ORDER BY judged.batch, judged.grain
