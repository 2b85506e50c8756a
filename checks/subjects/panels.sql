-- One row a sensory session; how likely its answers are by chance is computed outside SQL.
SELECT
    'panel ' || session || ', lot ' || lot AS record, lot, source_id, line, test, assessors, correct_answers,
    correct_answers || ' of ' || assessors || ' in a ' || test || ' test against lot ' || reference_lot AS note
FROM typed.panel
ORDER BY held_at, session
