"""Exports that repeat records: held, new or contradicting, also where somebody amended the first reading."""

from datetime import datetime

import pytest
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive, receive_again
from gaugebook.pipeline.typed.amendments import AmendmentRefused, Target, amend

HEADER = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\n"
SPIRIT = "STR-1,out,SPIRIT-1,hearts,T1,118.75,20,80,pct_vol_20c,,\n"
SECOND = "STR-1,out,LATE-1,heads,,0.5,20,70,pct_vol_20c,,\n"


def _amend(folder, field, text, line=9):
    with open_book(folder, writing=True) as book, book.transaction():
        amend(book, Target("moves.csv", None, line), field, text, "AB", "wrong", datetime(2026, 2, 1, 12), "UTC")


def _of_stripping(folder):
    with open_book(folder) as book:
        columns = "lot, part, volume_at_t_l, strength_reading"
        return book.frame(f"SELECT {columns} FROM typed.movements WHERE run = 'STR-1' ORDER BY ALL").rows()


@pytest.mark.parametrize(("field", "text"), [("lot", "SPIRIT-1B"), ("volume_at_t_l", "118.5")])
def test_an_export_that_repeats_an_amended_record_is_no_news(received, tmp_path, field, text):
    """The record stands once, as amended, however often the files are read anew; what is new beside it is kept."""
    received()
    _amend(tmp_path / "book", field, text)
    outcomes = received({"moves_2.csv": HEADER + SPIRIT + SECOND})
    counts = next(item for item in outcomes if item.path.name == "moves_2.csv").counts[0]
    stands = _of_stripping(tmp_path / "book")

    assert (counts.kept, counts.held, counts.refused) == (1, 1, 0)
    assert len(stands) == 6  # five and the late one
    for _ in range(3):
        source_map = tmp_path / "site" / "maps" / "moves.toml"
        source_map.write_text(source_map.read_text() + "\n")  # a map mended is a reason to read anew
        assert all(not outcome.reason for outcome in receive_again(tmp_path / "book", tmp_path / "site" / "house.toml"))
        assert _of_stripping(tmp_path / "book") == stands


def test_an_export_with_the_amended_value_is_held_and_another_contradicts(received, tmp_path):
    """A device that was set right repeats the amended value; a third value is a conflict that says both."""
    received()
    _amend(tmp_path / "book", "volume_at_t_l", "118.5")
    right, third = SPIRIT.replace("118.75", "118.5"), SPIRIT.replace("118.75", "120.0")
    outcomes = received({"moves_2.csv": HEADER + right, "moves_3.csv": HEADER + third})

    counts = {item.path.name: item.counts[0] for item in outcomes if item.outcome == "received"}
    assert (counts["moves_2.csv"].held, counts["moves_3.csv"].refused) == (1, 1)
    with open_book(tmp_path / "book") as book:
        (expected,) = book.frame("SELECT expected FROM typed.refused")["expected"]
    assert "moves.csv, line 9: volume_at_t_l 120.0 here, 118.5 there" in expected


def test_no_amendment_takes_the_key_of_another_record(received, tmp_path):
    """Two records cannot come to stand under one key."""
    received({"moves_2.csv": HEADER + SPIRIT.replace("SPIRIT-1", "SPIRIT-2")})

    with pytest.raises(AmendmentRefused, match=r"SPIRIT-2 .* already"):
        _amend(tmp_path / "book", "lot", "SPIRIT-2")


def test_what_a_refused_line_says_holds_nothing(tmp_path):
    """A line that contradicts is refused whole; a later line with its other value is new, not held."""
    (tmp_path / "site").mkdir()
    write_house(tmp_path / "site", {"wide_1.csv": "sample,lot,M,F\nX,RED-L1,100,\n"})
    (tmp_path / "site" / "maps" / "wide.toml").write_text(
        'describes = "Wide"\nfiles = ["wide*.csv"]\n[read]\nformat = "csv"\n[[records]]\nkind = "laboratory"\n'
        'header = ["M", "F"]\n[records.columns]\nsample = "sample"\nlot = "lot"\n[records.wide]\n'
        'methanol = { column = "M", unit = "mg/L" }\nfurfural = { column = "F", unit = "mg/L" }\n'
    )
    receive(tmp_path / "book", [tmp_path / "site"], None)
    (tmp_path / "site" / "wide_2.csv").write_text("sample,lot,M,F\nX,RED-L1,999,3.5\nX,RED-L1,,3.5\n")

    (outcome,) = receive(tmp_path / "book", [tmp_path / "site" / "wide_2.csv"], None)

    counts = outcome.counts[0]
    assert (counts.kept, counts.held, counts.refused) == (1, 0, 1)
    with open_book(tmp_path / "book") as book:
        found = book.frame("SELECT analyte, value FROM typed.laboratory WHERE sample = 'X' ORDER BY analyte").rows()
    assert found == [("furfural", 3.5), ("methanol", 100.0)]


def test_a_doubled_row_that_closes_a_ring_is_refused_twice(received, tmp_path):
    """Neither stands in the book, so neither is held by the other."""
    ring = "STR-1,in,RED-L1,feints,,5,20,30,pct_vol_20c,,\n"
    outcomes = received({"moves_2.csv": HEADER + ring + ring})

    counts = next(item for item in outcomes if item.path.name == "moves_2.csv").counts[0]
    assert (counts.kept, counts.held, counts.refused) == (0, 0, 2)


def test_files_of_one_name_are_told_apart_by_their_folder(tmp_path):
    """A record of one of two files of the same name is amended by the folder's name before the file's."""
    write_house(tmp_path / "site")
    for month, lot in (("oct", "A"), ("nov", "B")):
        (tmp_path / "site" / month).mkdir()
        (tmp_path / "site" / month / "fills_x.csv").write_text(f"lot,no,ml\n{lot},1,500\n")
    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book", writing=True) as book, book.transaction():
        at = datetime(2026, 2, 1, 12)
        with pytest.raises(AmendmentRefused, match="folder before the name"):
            amend(book, Target("fills_x.csv", None, 2), "net_content_ml", "501", "AB", "x", at, "UTC")
        amend(book, Target("nov/fills_x.csv", None, 2), "net_content_ml", "501", "AB", "x", at, "UTC")
        fills = book.frame("SELECT lot, net_content_ml FROM typed.fills WHERE lot IN ('A', 'B') ORDER BY lot")
    assert fills.rows() == [("A", 500.0), ("B", 501.0)]
