-- One row a still run with a log: its cuts by the log beside the run sheet's, what ran off by the log beside the
-- receivers, and how it fits equilibrium, its plates and the good runs of its kind.
WITH clocks AS (        -- a log's clock that is further off is wrong, and the sheet's cuts are moved to it
    SELECT run, CASE WHEN abs(offset_min) > 20 THEN offset_min ELSE 0 END AS offset_min FROM derived.log_clocks
),
details AS (
    SELECT run, string_agg(CASE kind WHEN 'left the band' THEN sensor || ' ' ELSE '' END || detail, '; ' ORDER BY from_at, detail) AS note
    FROM (SELECT *, replace(regexp_replace(tag, '_(c|l|l_h|kg_h|kpa|pct_vol)$', ''), '_', ' ') AS sensor FROM derived.curve_findings)
    WHERE kind IN ('off equilibrium', 'beyond the plates', 'left the band')
    GROUP BY run
),
hearts AS (
    SELECT *, alcohol_l IS NULL OR gauged_alcohol_l IS NULL AS by_volume FROM derived.curve_cuts WHERE part = 'hearts'
)
SELECT
    'run ' || curves.run || ', its curve' AS record, curves.run, curves.equipment, runs.source_id, runs.line, details.note,
    curves.hearts_from_sheet_at, curves.hearts_to_sheet_at, curves.u_hearts_from_min, curves.u_hearts_to_min,
    date_diff('second', curves.hearts_from_sheet_at, curves.hearts_from_at) / 60.0 - coalesce(clocks.offset_min, 0)
        AS hearts_from_apart_min,
    date_diff('second', curves.hearts_to_sheet_at, curves.hearts_to_at) / 60.0 - coalesce(clocks.offset_min, 0)
        AS hearts_to_apart_min,
    hearts.alcohol_l AS logged_alcohol_l,
    CASE WHEN NOT hearts.by_volume THEN hearts.gauged_alcohol_l END AS gauged_alcohol_l,
    hearts.u_difference_l AS u_alcohol_difference_l,
    hearts.volume_l AS logged_volume_l,
    CASE WHEN hearts.by_volume THEN hearts.gauged_volume_l END AS gauged_volume_l,
    sqrt(hearts.u_volume_l ** 2 + hearts.u_gauged_volume_l ** 2) AS u_volume_difference_l,
    curves.vapour_residual_c, curves.u_vapour_residual_c,
    curves.reached_pct_vol, curves.stages_available,
    -- above the azeotrope no number of stages is enough
    CASE WHEN curves.reached_pct_vol IS NOT NULL THEN coalesce(curves.stages_needed, 'inf'::DOUBLE) END AS stages_needed,
    curves.band, curves.band_runs,
    -- rounded so that one run more, which moves the band, does not move the answer for every run before it
    CASE curves.band
        WHEN 'left' THEN greatest(round(curves.distance / curves.distance_limit, 1), 1.1)
        WHEN 'within' THEN least(round(curves.distance / curves.distance_limit, 1), 1.0)
    END AS of_the_band
FROM derived.run_curves AS curves
JOIN derived.runs ON runs.run = curves.run
LEFT JOIN clocks ON clocks.run = curves.run
LEFT JOIN details ON details.run = curves.run
LEFT JOIN hearts ON hearts.run = curves.run
ORDER BY runs.started_at, curves.run
