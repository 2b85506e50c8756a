-- One row a filling of which nothing is bottled yet and whose class has a greatest strength at entry (offered as entry_limits).
SELECT
    'cask ' || split_part(contents, '/', 1) || ', filling ' || split_part(contents, '/', 2) AS record, contents AS lot,
    split_part(contents, '/', 1) AS equipment, source_id, line, meant_for || '; ' || citation AS note,
    entry_pct_vol, u_entry_pct_vol, entry_most_pct_vol
FROM entry_limits
ORDER BY contents
