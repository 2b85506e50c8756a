"""Kept files read anew after a map was mended; logs that overlap; many blocks; several encodings."""

import gzip
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl
import pytest
from small_house import FILES, MAPS, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive, receive_again
from gaugebook.pipeline.landed import delimited


def test_refused_rows_are_kept_once_the_map_is_mended(received, tmp_path):
    """A lookup that was missing is added to the map; the kept file then gives its record."""
    received({"moves_x.csv": "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\nX,IN,L-9,Brew,T1,10,20,,,,\n"})
    folder = tmp_path / "book"
    with open_book(folder) as book:
        assert book.value("SELECT code FROM typed.refused") == "not-a-choice"
    mended = MAPS["moves"].replace(
        'part = "part"', 'part = { column = "part", lookup = { brew = "wash", wash = "wash" } }'
    )
    (tmp_path / "site" / "maps" / "moves.toml").write_text(mended, encoding="utf-8")
    (tmp_path / "site" / "moves.csv").unlink()
    (tmp_path / "site" / "moves_x.csv").unlink()  # the kept copy is what is read

    receive_again(folder, None)

    with open_book(folder) as book:
        assert book.value("SELECT part FROM typed.movements WHERE lot = 'L-9'") == "wash"
        assert book.value("SELECT max(times_read) FROM received.files") == 2


def test_a_file_refused_whole_is_received_once_a_map_takes_it(received, tmp_path):
    """A file that no map took is kept, listed, and received by --again when there is one."""
    received({"odd.csv": "lot,no,ml\nRYE-1,9,499\n"})
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT code FROM received.refused_files") == "file.no-map"
    text = MAPS["fills"].replace('"fills*.csv"', '"fills*.csv", "odd.csv"')
    (tmp_path / "site" / "maps" / "fills.toml").write_text(text, encoding="utf-8")

    receive_again(tmp_path / "book", None)

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM received.refused_files") == 0
        assert book.value("SELECT net_content_ml FROM typed.fills WHERE sample_no = 9") == 499


def test_the_same_bytes_refused_under_two_names_are_received_once(received, tmp_path):
    """Two names for one content that no map took: read anew, the first is received, the second already held."""
    text = "lot,no,ml\nRYE-1,9,499\n"
    received({"odd1.csv": text, "odd2.csv": text})
    mended = MAPS["fills"].replace('"fills*.csv"', '"fills*.csv", "odd*.csv"')
    (tmp_path / "site" / "maps" / "fills.toml").write_text(mended, encoding="utf-8")

    outcomes = receive_again(tmp_path / "book", None)

    assert [outcome.outcome for outcome in outcomes if outcome.path.name.startswith("odd")] == [
        "received",
        "already held",
    ]
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM received.files WHERE name LIKE 'odd%'") == 1
        assert book.value("SELECT count(*) FROM typed.fills WHERE sample_no = 9") == 1
        assert book.value("SELECT count(*) FROM received.refused_files") == 0


def test_an_unreadable_time_does_not_move_the_other_times(received, tmp_path):
    """In the hour that clocks repeat, one cell that is no time is refused, and every other row keeps its instant."""
    zone, begin = ZoneInfo("Europe/Copenhagen"), datetime(2025, 10, 25, 23, 30, tzinfo=UTC)
    instants = [begin + timedelta(minutes=10 * n) for n in range(24)]
    lines = [instant.astimezone(zone).strftime("%d.%m.%Y %H:%M:%S") + ",70,20.5\n" for instant in instants]
    received({"S1_1025.csv": LOG + "".join(lines) + "not a time,70,20.5\n"})

    with open_book(tmp_path / "book") as book:
        read = book.frame("SELECT read_at FROM typed.log_rows WHERE year(read_at) = 2025 ORDER BY line")["read_at"]
        refused = book.frame("SELECT line, code FROM typed.refused").rows()

    assert read.to_list() == [instant.replace(tzinfo=None) for instant in instants]
    assert refused == [(28, "time-unreadable")]


LOG = "controller\nTime,Pot,Vapour\n,degF,degC\n"


def test_an_overlapping_log_adds_only_what_is_new(received, tmp_path):
    """Of a log exported twice with more at its end, held rows are held, new ones kept, contradicting ones refused."""
    received()
    outcomes = received(
        {
            "S1_again.csv": LOG
            + "12.01.2026 10:00:00,68,20.0\n12.01.2026 10:01:00,70,20.6\n12.01.2026 10:02:00,71,21.0\n"
            "12.01.2026 10:03:00,72,21.5\n"
        }
    )

    counts = next(outcome for outcome in outcomes if outcome.path.name == "S1_again.csv").counts[0]
    # the first row is held; the second contradicts 20.5; the third adds a pot temperature; the fourth is new
    assert (counts.rows_in, counts.kept, counts.held, counts.refused) == (4, 2, 1, 1)
    with open_book(tmp_path / "book") as book:
        values = book.frame(
            "SELECT tag, count(*) AS n, count(DISTINCT read_at) AS instants FROM typed.readings GROUP BY tag"
        )
        assert sorted(values.rows()) == [("pot_temperature_c", 4, 4), ("vapour_temperature_c", 4, 4)]
        assert book.value("SELECT code FROM typed.refused") == "conflict"


def test_blocks_of_any_size_give_the_same_rows(received, tmp_path, monkeypatch):
    """A log read in blocks of a few bytes gives what it gives in one."""
    lines = [f"13.01.2026 1{n // 60}:{n % 60:02d}:00,{60 + n},{20 + n / 10}\n" for n in range(100)]
    text = LOG + "".join(lines[:50]) + "\n" + '"13.01.2026 12:00:00","70",20\n' + "13.01.2026 12:01:00,71,21,stray\n"
    received({"S1_long.csv": text})
    with open_book(tmp_path / "book") as book:
        whole = book.frame("SELECT * FROM typed.readings ORDER BY ALL")
        refused = book.frame("SELECT line, code FROM typed.refused").rows()
    monkeypatch.setattr(delimited, "BLOCK_BYTES", 64)

    receive(tmp_path / "other", [tmp_path / "site"], None)

    with open_book(tmp_path / "other") as book:
        assert book.frame("SELECT * FROM typed.readings ORDER BY ALL").equals(whole)
        assert book.frame("SELECT line, code FROM typed.refused").rows() == refused == [(56, "cells-beyond-header")]


@pytest.mark.parametrize("how", ["utf-8-sig", "utf-16", "gzip", "crlf"])
def test_encodings_and_line_ends(tmp_path, how):
    """A mark at the start, UTF-16, gzip and carriage returns change nothing of what is read."""
    write_house(tmp_path / "site")
    path = tmp_path / "site" / "fills.csv"
    text = path.read_text(encoding="utf-8")
    if how == "utf-16":
        target = tmp_path / "site" / "maps" / "fills.toml"
        target.write_text(
            MAPS["fills"].replace('format = "csv"', 'format = "csv"\nencoding = "utf-16"'), encoding="utf-8"
        )
    if how == "gzip":
        path.unlink()
        (tmp_path / "site" / "fills.csv.gz").write_bytes(gzip.compress(text.encode()))
    elif how == "crlf":
        path.write_bytes(text.replace("\n", "\r\n").encode())
    else:
        path.write_bytes(text.encode(how))

    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book") as book:
        assert book.frame("SELECT line, net_content_ml FROM typed.fills ORDER BY line").rows() == [
            (2, 501.0), (3, 502.0), (4, 500.0)
        ]  # fmt: skip


def test_header_of_two_rows_with_merged_cells_and_a_time_in_two_columns(tmp_path):
    """An upper header row names what stands right of it; date and time apart make one instant."""
    write_house(tmp_path / "site")
    (tmp_path / "site" / "maps" / "fills.toml").write_text(
        """
describes = "Fills"
files = ["fills*.csv"]
[read]
format = "csv"
header_line = 2
header_rows = 2
[[records]]
kind = "fills"
header = ["bottle no"]
[records.constants]
lot = "RYE-1"
[records.columns]
sample_no = "bottle no"
net_content_ml = "bottle ml"
measured_at = { column = "taken day", also = "taken hour", time = "%Y-%m-%d %H:%M" }
""",
        encoding="utf-8",
    )
    (tmp_path / "site" / "fills.csv").write_text(
        "bottle,,taken,\nno,ml,day,hour\n1,501,2026-01-14,13:00\n", encoding="utf-8"
    )

    receive(tmp_path / "book", [tmp_path / "site" / "fills.csv"], None)

    with open_book(tmp_path / "book") as book:
        row = book.frame("SELECT sample_no, net_content_ml, measured_at::VARCHAR FROM typed.fills").row(0)
    assert row == (1, 501.0, "2026-01-14 12:00:00")


def test_two_maps_are_told_apart_by_their_header(tmp_path):
    """Where patterns overlap, the map whose header signature the file has is taken."""
    write_house(tmp_path / "site")
    other = MAPS["fills"].replace("fills*.csv", "*.csv").replace('"lot", "no", "ml"', '"nowhere"')
    (tmp_path / "site" / "maps" / "other.toml").write_text(other, encoding="utf-8")

    outcomes = receive(tmp_path / "book", [tmp_path / "site" / "fills.csv"], None)

    assert outcomes[0].outcome == "received"
    assert FILES["fills.csv"].count("RYE-1") == outcomes[0].counts[0].kept == 3


def test_a_csv_of_refusals_holds_no_formula(received, tmp_path):
    """What a hostile file wrote into a cell does not run in the spreadsheet that opens our export."""
    from click.testing import CliRunner

    from gaugebook.pipeline.commands.receive_commands import refused_command

    received({"fills_x.csv": "lot,no,ml\n=1+1,one,500\n"})

    result = CliRunner().invoke(refused_command, ["--csv", str(tmp_path / "r.csv")], obj=tmp_path / "book")

    assert result.exit_code == 1, result.output
    raw = pl.read_csv(tmp_path / "r.csv")["raw"][0]
    assert raw.startswith("'=1+1")


def test_a_log_that_runs_newest_first_over_the_clock_change(received, tmp_path, monkeypatch):
    """Received in blocks of any size, each row stands at zoneinfo's instant, and no row is compared by value."""
    zone, begin = ZoneInfo("Europe/Copenhagen"), datetime(2025, 10, 25, 22, tzinfo=UTC)
    instants = [begin + timedelta(minutes=5 * n) for n in range(60)][::-1]
    lines = [instant.astimezone(zone).strftime("%d.%m.%Y %H:%M:%S") + ",70,20.5\n" for instant in instants]
    monkeypatch.setattr(delimited, "BLOCK_BYTES", 700)
    received({"S1_1025.csv": LOG + "".join(lines)})

    with open_book(tmp_path / "book") as book:
        read = book.frame("SELECT read_at FROM typed.log_rows WHERE year(read_at) = 2025 ORDER BY line")["read_at"]
        blocks = book.frame("SELECT first_at, last_at FROM typed.log_blocks WHERE year(first_at) = 2025").rows()

    assert read.to_list() == [instant.replace(tzinfo=None) for instant in instants]
    assert blocks == [(instants[-1].replace(tzinfo=None), instants[0].replace(tzinfo=None))]


def test_words_for_no_value_are_blank_cells(received, tmp_path):
    """What the map names as the device's words for no value is blank, and the row's other values are kept."""
    text = LOG + "13.01.2026 10:00:00,---,20.0\n13.01.2026 10:01:00,70,-127.00\n13.01.2026 10:02:00,OFF,21.0\n"
    received({"S1_off.csv": text})
    with open_book(tmp_path / "book") as book:
        refused = book.frame("SELECT line, to_do FROM typed.refused ORDER BY line")
    assert refused["line"].to_list() == [4, 5, 6]
    assert all("the row's other values were not taken either" in to_do for to_do in refused["to_do"])
    mended = MAPS["log"].replace('format = "csv"', 'format = "csv"\nblank = ["---", "OFF", "-127.00"]')
    (tmp_path / "site" / "maps" / "log.toml").write_text(mended, encoding="utf-8")

    receive_again(tmp_path / "book", None)

    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM typed.refused") == 0
        kept = book.frame("""
            SELECT line, tag, round(value, 2) AS value FROM typed.readings WHERE read_at > '2026-01-13'
            ORDER BY line
        """).rows()
    assert kept == [
        (4, "vapour_temperature_c", 20.0), (5, "pot_temperature_c", 21.11), (6, "vapour_temperature_c", 21.0)
    ]  # fmt: skip
