-- Results per hectolitre of pure alcohol, with the sums that limits are set on. A result below the limit of
-- quantification counts as that limit on its own and as nothing in a sum, so that a sum never claims too much.
-- A sum is made only where its own result is not reported.
WITH measured AS (
    SELECT
        lot, analyte, below_limit, source_id, line,
        CASE WHEN unit = 'g/hL pa' THEN value ELSE per_alcohol_g_hl END AS value,
        CASE WHEN unit = 'g/hL pa' THEN u_value ELSE u_value * per_alcohol_g_hl / nullif(value, 0) END AS u_value
    FROM derived.laboratory
    WHERE unit = 'g/hL pa' OR per_alcohol_g_hl IS NOT NULL
),
terms (total, analyte) AS (
    VALUES
        ('higher_alcohols', 'propanol'), ('higher_alcohols', 'butanol'), ('higher_alcohols', 'isobutanol'),
        ('higher_alcohols', 'isoamyl_alcohol'), ('higher_alcohols', 'active_amyl_alcohol'),
        ('volatile_substances', 'propanol'), ('volatile_substances', 'butanol'), ('volatile_substances', 'isobutanol'),
        ('volatile_substances', 'isoamyl_alcohol'), ('volatile_substances', 'active_amyl_alcohol'),
        ('volatile_substances', 'acetaldehyde'), ('volatile_substances', 'ethyl_acetate'),
        ('volatile_substances', 'furfural'), ('volatile_substances', 'volatile_acidity')
),
sums AS (
    SELECT
        lot, total AS analyte, bool_and(below_limit) AS below_limit, min(source_id) AS source_id, min(line) AS line,
        CASE WHEN bool_and(value IS NOT NULL) THEN sum(CASE WHEN below_limit THEN 0 ELSE value END) END AS value,
        sqrt(sum(u_value ** 2)) AS u_value
    FROM measured
    JOIN terms USING (analyte)
    GROUP BY lot, total
)
SELECT lot, analyte, 'g/hL pa' AS unit, value, u_value, below_limit, source_id, line FROM measured
UNION ALL
SELECT lot, analyte, 'g/hL pa', value, u_value, false, source_id, line
FROM sums
WHERE (lot, analyte) NOT IN (SELECT (lot, analyte) FROM measured)
