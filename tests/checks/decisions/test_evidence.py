"""What a decision is compared by later: digests of the parts of its batch's data."""

from hashlib import sha256

import pytest

from gaugebook.checks.decisions.evidence import data_parts


def test_a_part_has_the_first_sixteen_digits_of_the_digest_of_its_rows(put, bottle, book):
    """Rows as JSON, sorted, a line each: earlier decisions are compared with it, so neither text nor length may change.
    Of each batch that is asked, its own; one without records has no parts."""
    for batch in ("V-1", "V-2"):
        bottle(batch, "VODKA", "PROOF")
        for session in ("P-2", "P-1"):
            put("typed.panel", session=session, lot=batch, reference_lot="R", test="triangle", assessors=3,
                correct_answers=1)  # fmt: skip

    parts = data_parts(book, ["V-1", "V-3"])

    rows = [
        f'{{"session":"{session}","lot":"V-1","reference_lot":"R","test":"triangle","assessors":3,"correct_answers":1}}'
        for session in ("P-1", "P-2")
    ]
    assert parts["V-1"]["panel"] == sha256("\n".join(rows).encode()).hexdigest()[:16]
    assert {len(digest) for digest in parts["V-1"].values()} == {16}
    assert parts["V-3"] == {}


@pytest.mark.parametrize(
    ("table", "part", "row"),
    [
        ("derived.openings", "opening", {"origin": "opening", "kind": "spirit"}),
        ("typed.intake", "intake", {"material": "M", "kind": "spirit", "received_at": "2031-01-01"}),
        ("typed.laboratory", "laboratory", {"sample": "S", "analyte": "strength", "value": 40.0, "unit": "pct_vol",
                                            "below_limit": False}),
        ("typed.panel", "panel", {"session": "P", "reference_lot": "R", "test": "triangle", "assessors": 3,
                                  "correct_answers": 1}),
    ],
)  # fmt: skip
def test_a_part_is_of_lots_behind_the_batch_alone(put, bottle, book, table, part, row):
    """What is written down of a lot elsewhere changes nothing; of the liquid bottled it is a part of its own."""
    bottle("V-1", "VODKA", "PROOF")
    before = data_parts(book, ["V-1"])["V-1"]
    put(table, lot="ELSEWHERE", **row)
    assert data_parts(book, ["V-1"])["V-1"] == before

    put(table, lot="PROOF", **row)

    after = data_parts(book, ["V-1"])["V-1"]
    assert part not in before
    assert {name: digest for name, digest in after.items() if name != part} == before


@pytest.mark.parametrize(
    ("table", "columns"),
    [
        ("derived.gauges", ("mass_kg", "volume_l", "u_volume_l", "strength_pct_vol", "u_strength_pct_vol", "alcohol_l",
                            "u_alcohol_l")),
        ("derived.openings", ("volume_l", "strength_pct_vol", "alcohol_l", "u_alcohol_l")),
    ],
)  # fmt: skip
def test_what_is_computed_counts_to_six_decimals(put, bottle, book, table, columns):
    """A ten-millionth is rounding of another machine and no change of the data; a millionth is one."""
    bottle("V-1", "VODKA", "PROOF")
    put("derived.openings", lot="PROOF", origin="opening", kind="spirit")
    for column in columns:
        digests = []
        for value in (40.0, 40.0000001, 40.000001):
            book.execute(f"UPDATE {table} SET {column} = ? WHERE lot = 'PROOF'", [value])
            digests.append(data_parts(book, ["V-1"])["V-1"])
        assert digests[0] == digests[1], column
        assert digests[0] != digests[2], column


@pytest.mark.parametrize(
    ("table", "behind", "at", "row"),
    [
        ("typed.movements", {"run": "BOT-V-1"}, "gauged_at", {"direction": "in", "lot": "X", "part": "spirit"}),
        ("typed.laboratory", {"lot": "PROOF"}, "measured_at", {"sample": "S", "analyte": "methanol", "value": 1.0,
                                                               "unit": "g/L", "below_limit": False}),
        ("typed.intake", {"lot": "PROOF"}, "received_at", {"material": "M", "kind": "spirit"}),
        ("typed.opening_stock", {"lot": "PROOF"}, "counted_at", {"material": "M", "kind": "spirit"}),
        ("typed.fills", {"lot": "V-1"}, "measured_at", {"sample_no": 1, "net_content_ml": 700}),
    ],
)  # fmt: skip
def test_checks_of_the_instruments_that_read_the_batch_are_evidence(put, bottle, book, table, behind, at, row):
    """The last one before the reading; that of an instrument that read another run or lot is not."""
    bottle("V-1", "VODKA", "PROOF")
    for instrument in ("HYD-1", "HYD-2"):
        for checked_at in ("2030-01-01", "2031-01-01", "2032-01-01"):
            put("typed.calibrations", instrument=instrument, checked_at=checked_at, reference_value=40, reading=40.1,
                unit="pct_vol")  # fmt: skip
    elsewhere = dict.fromkeys(behind, "ELSEWHERE")
    put(table, **elsewhere, instrument="HYD-2", **{at: "2031-02-01"}, **row)
    assert "calibrations" not in data_parts(book, ["V-1"])["V-1"]

    put(table, **behind, instrument="HYD-1", **{at: "2031-02-01"}, **row)

    kept = (
        '{"instrument":"HYD-1","checked_at":"2031-01-01 00:00:00","reference_value":40.0,"reading":40.1,'
        '"unit":"pct_vol","due_at":null}'
    )
    assert data_parts(book, ["V-1"])["V-1"]["calibrations"] == sha256(kept.encode()).hexdigest()[:16]
