-- One row a filling of which nothing is bottled yet and whose class has a greatest strength at entry (offered as entry_limits).
-- What stands before the last "/" is the cask: its own name may hold that sign.
SELECT
    'cask ' || regexp_replace(contents, '/(\d+)$', ', filling \1') AS record, contents AS lot,
    regexp_replace(contents, '/\d+$', '') AS equipment, source_id, line, meant_for || '; ' || citation AS note,
    entry_pct_vol, u_entry_pct_vol, entry_most_pct_vol
FROM entry_limits
ORDER BY contents
