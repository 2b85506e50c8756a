"""The received files behind a batch, on records put in by hand, each read from a file of its own."""

import pytest

from gaugebook.checks.decisions import evidence

BEHIND = {  # a record that stands behind batch B-1, its run BOT, its liquid LIQ; and one like it that does not
    "typed.runs": ({"run": "BOT"}, {"run": "ELSE"}, {"stage": "bottle", "equipment": "E", "started_at": "2031-01-01"}),
    "typed.movements": ({"run": "BOT"}, {"run": "ELSE"}, {"direction": "in", "lot": "X", "part": "spirit"}),
    "derived.openings": ({"lot": "LIQ"}, {"lot": "ELSE"}, {}),
    "typed.laboratory": ({"lot": "LIQ"}, {"lot": "ELSE"}, {"sample": "S", "analyte": "strength", "value": 40.0,
        "unit": "pct_vol", "below_limit": False}),
    "typed.bottling": ({"lot": "B-1"}, {"lot": "LIQ"}, {"run": "BOT", "product": "GIN", "bottled_at": "2031-01-01",
        "nominal_ml": 700, "label_strength_pct_vol": 40, "bottles_filled": 9, "bottles_rejected": 0}),
    "typed.fills": ({"lot": "B-1"}, {"lot": "LIQ"}, {"sample_no": 1, "net_content_ml": 700}),
    "typed.panel": ({"lot": "LIQ"}, {"lot": "ELSE"}, {"session": "P", "reference_lot": "R", "test": "triangle",
        "assessors": 3, "correct_answers": 1}),
}  # fmt: skip


@pytest.mark.parametrize("table", BEHIND)
def test_each_kind_of_record_names_its_file(book, put, table):
    """What stands behind the batch names its file, once; a record like it of another lot or run does not."""
    behind, beside, rest = BEHIND[table]
    for batch, run, liquid in (("B-1", "BOT", "LIQ"), ("B-2", "ELSE", "ELSE")):
        put("derived.bottlings", batch=batch, run=run)
        put("derived.lineage", batch=batch, run=run, lot=liquid, into_lot=batch, depth=1)
    for number in (1, 2):
        put("received.files", file_id=number, sha256=f"sha-{number}", name=f"f{number}", origin="o", size_bytes=1,
            map="m", map_sha256="m", received_at="2031-01-01", received_by="x", times_read=1)  # fmt: skip
    for source_id, file_id in ((10, 1), (11, 1), (20, 2)):
        put("landed.sources", source_id=source_id, file_id=file_id, header_line=1, header=["a"])
    for number, (source_id, keys) in enumerate([(10, behind), (11, behind), (20, beside)]):
        put(table, **rest, **keys, source_id=source_id, line=number)

    sql = (evidence.HERE / "evidence_files.sql").read_text(encoding="utf-8")

    assert book.frame(sql, {"batch": "B-1"}).rows() == [("f1", "sha-1")]
