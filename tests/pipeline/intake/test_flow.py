"""From files to a book: nothing lost, nothing twice, faults said in one sentence."""

from pathlib import Path

import polars as pl
import pytest
from small_house import write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.intake.flow import receive

TABLES = ("typed.intake", "typed.runs", "typed.movements", "typed.readings", "typed.laboratory", "derived.gauges",
          "derived.run_balances", "derived.lineage", "derived.lots", "typed.row_counts", "landed.rows")  # fmt: skip

MOVES = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\n"
RUNS = "run,stage,equipment,product,recipe,started,ended,operator\n"


def _tables(folder: Path) -> dict[str, pl.DataFrame]:
    with open_book(folder) as book:
        return {name: book.frame(f"SELECT * FROM {name} ORDER BY ALL") for name in TABLES}


def test_every_row_is_accounted_for(received, tmp_path):
    """Rows in are kept, held, refused or passed over, for each section of each file."""
    outcomes = received()

    assert all(outcome.outcome == "received" for outcome in outcomes)
    for outcome in outcomes:
        for counts in outcome.counts:
            assert counts.rows_in == counts.kept + counts.held + counts.refused + counts.passed_over
            assert counts.refused == 0


def test_receiving_again_changes_nothing(received, tmp_path):
    """The same bytes a second time are already held, and every table stays as it was."""
    received()
    before = _tables(tmp_path / "book")

    outcomes = received()

    assert {outcome.outcome for outcome in outcomes} == {"already held"}
    for name, frame in _tables(tmp_path / "book").items():
        assert frame.equals(before[name]), name


def test_an_overlapping_export_adds_only_what_is_new(received, tmp_path):
    """A second export that repeats rows and adds one keeps the one and counts the others as held."""
    received()
    outcomes = received(
        {
            "intake_2.csv": """
                lot,material,kind,received,kg,extract,moisture
                MALT-1,rye malt,malt,2026-01-02,500,80,5
                MALT-2,oat malt,malt,2026-02-02,300,60,6
            """
        }
    )

    counts = next(outcome for outcome in outcomes if outcome.path.name == "intake_2.csv").counts[0]
    assert (counts.rows_in, counts.kept, counts.held, counts.refused) == (2, 1, 1, 0)


def test_a_contradicting_row_is_refused_and_the_first_kept(received, tmp_path):
    """The same lot with another quantity is a conflict that names the accepted row's place."""
    received()
    received(
        {
            "intake_2.csv": """
                lot,material,kind,received,kg,extract,moisture
                MALT-1,rye malt,malt,2026-01-02,450,80,5
            """
        }
    )

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT quantity_kg FROM typed.intake WHERE lot = 'MALT-1'") == 500
        refused = book.frame("SELECT line, code, expected FROM typed.refused").row(0)
    assert refused[:2] == (2, "conflict")
    assert "intake.csv, line 2" in refused[2]


@pytest.mark.parametrize(
    ("name", "text", "code"),
    [
        ("moves_a.csv", MOVES + "X,in,L,wash,,1O0,20,,,,", "not-a-number"),
        ("moves_b.csv", MOVES + "X,in,,wash,,100,20,,,,", "blank"),
        ("moves_c.csv", MOVES + "X,sideways,L,wash,,100,20,,,,", "not-a-choice"),
        ("moves_d.csv", MOVES + "X,in,L,wash,,-5,20,,,,", "volume-at-t-l-impossible"),
        ("moves_e.csv", MOVES + "X,in,L,wash,,100,20,40,alcoholmeter,,", "strength-without-temperature"),
        ("moves_f.csv", MOVES + "X,in,L,wash,,100,20,101,pct_vol_20c,,", "strength-impossible"),
        ("moves_g.csv", MOVES + "X,in,L,wash,,,,,,,", "quantity-missing"),
        ("moves_h.csv", MOVES + "X,in,L,wash,,100,20,,,,,stray", "cells-beyond-header"),
        ("runs_a.csv", RUNS + "X,strip,S1,,,2026-01-12 10:00,2026-01-12 09:00,AB", "ends-before-start"),
        ("runs_b.csv", RUNS + "X,strip,S1,,,2026-02-30 10:00,,AB", "time-unreadable"),
        (
            "runs_c.csv",
            RUNS + "X,strip,S1,,,2026-03-29 02:30,,AB",
            "time-not-once",
        ),  # the hour that the clock skips in Copenhagen
        ("fills_a.csv", "lot,no,ml\nRYE-1,1.5,500", "not-a-number"),
    ],
)
def test_a_bad_row_is_refused_with_its_reason(received, tmp_path, name, text, code):
    """Each kind of fault has its own code; the row stands whole in typed.refused and in no record."""
    received({name: text})

    with open_book(tmp_path / "book") as book:
        refused = book.frame("SELECT code, raw, expected, to_do FROM typed.refused")
        counts = book.frame("SELECT kept, refused FROM typed.row_counts WHERE refused > 0")
    assert refused["code"].to_list() == [code]
    assert refused["raw"][0].replace(" ", "") == text.splitlines()[1].replace(" ", "")
    assert refused["expected"][0] and refused["to_do"][0]
    assert counts.rows() == [(0, 1)]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("intake_x.csv", b"", "is empty"),
        ("intake_x.csv", b"lot,material\nA,malt\n", 'the column "kind" is missing'),
        ("intake_x.csv", b"\xff\xfelot", "is not utf-8 text"),
        ("intake_x.csv", b'lot,material,kind,received,kg,extract,moisture\n"A,malt\n', "cannot be split into cells"),
        ("intake_x.csv", b"lot,mat\0erial\n", "NUL"),
        ("strange.csv", b"a,b\n1,2\n", "no source map takes a file of this name"),
    ],
)
def test_an_unreadable_file_is_one_clear_sentence(received, tmp_path, name, content, words):
    """A file refused as a whole names the reason; the others are received all the same."""
    write_house(tmp_path / "site")
    (tmp_path / "site" / name).write_bytes(content)

    outcomes = receive(tmp_path / "book", [tmp_path / "site"], None)

    refused = [outcome for outcome in outcomes if outcome.outcome == "refused"]
    assert [outcome.path.name for outcome in refused] == [name]
    assert words in refused[0].reason
    assert sum(outcome.outcome == "received" for outcome in outcomes) == 7


def test_two_maps_for_one_file_are_a_refusal(received, tmp_path):
    """Where two source maps take a file by its name, neither is guessed."""
    write_house(tmp_path / "site")
    maps = tmp_path / "site" / "maps"
    (maps / "fills2.toml").write_text((maps / "fills.toml").read_text())

    outcomes = receive(tmp_path / "book", [tmp_path / "site" / "fills.csv"], None)

    assert "the maps fills and fills2 both take it" in outcomes[0].reason


def test_a_path_that_is_not_there(tmp_path):
    """A missing path is named before anything is written."""
    with pytest.raises(SettingsError, match="does not exist"):
        receive(tmp_path / "book", [tmp_path / "nowhere"], None)
    assert not (tmp_path / "book").exists()


def test_files_without_a_profile_ask_for_one(tmp_path):
    """Where no house.toml is at hand and there is no book, the sentence says what to write."""
    path = tmp_path / "fills.csv"
    path.write_text("lot,no,ml\n", encoding="utf-8")

    with pytest.raises(SettingsError, match=r"No house\.toml stands at or above"):
        receive(tmp_path / "book", [path], None)
    assert not (tmp_path / "book").exists()
