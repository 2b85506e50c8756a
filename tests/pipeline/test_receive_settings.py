"""What receive takes up, by which profile, and what it leaves behind when it cannot go on."""

import os
import subprocess
import sys

import pytest
from small_house import HOUSE, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import BookError, SettingsError
from gaugebook.pipeline.intake.flow import receive, receive_again
from gaugebook.pipeline.received.content import CopyInMaking

LOG = "controller\nTime,Pot,Vapour\n,degF,degC\n"
SECONDS = "".join(
    f"12.01.2026 1{n // 3600}:{n % 3600 // 60:02d}:{n % 60:02d},160,{20 + n / 1000}\n" for n in range(30_000)
)


def files_of(book):
    with open_book(book) as opened:
        return set(opened.frame("SELECT name FROM received.files")["name"])


def test_another_house_s_profile_is_not_taken_up_by_chance(tmp_path):
    """A profile found beside the command is refused where the book is another house's; one that is named is not."""
    write_house(tmp_path / "site")
    receive(tmp_path / "book", [tmp_path / "site"], None)
    other = write_house(tmp_path / "other")
    profile = tmp_path / "other" / "house.toml"
    profile.write_text(HOUSE.replace("Test house", "Another house").replace("Copenhagen", "Lisbon"))

    with pytest.raises(SettingsError, match=r"is that of .Test house.*Another house.*--house"):
        receive(tmp_path / "book", other, None)
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(*) FROM received.houses") == 1
    assert receive(tmp_path / "book", other, profile)


def test_a_profile_that_stands_elsewhere_now_is_said(tmp_path):
    """A book that was moved without its profile says which file is meant and what to do."""
    write_house(tmp_path / "site")
    receive(tmp_path / "book", [tmp_path / "site"], None)
    (tmp_path / "site").rename(tmp_path / "moved")

    with pytest.raises(SettingsError, match=r"received last, does not stand here.*--house"):
        receive_again(tmp_path / "book", None)
    assert receive_again(tmp_path / "book", tmp_path / "moved" / "house.toml") == []


def test_a_comma_in_the_book_s_folder_is_said_at_once(tmp_path):
    """Before anything is written, because the database could not find the logs afterwards."""
    write_house(tmp_path / "site")

    with pytest.raises(BookError, match="comma"):
        receive(tmp_path / "a,b", [tmp_path / "site"], None)


def test_hidden_files_are_left_out_at_any_depth(tmp_path):
    """Neither a hidden file nor a file in a hidden folder is taken up."""
    write_house(tmp_path / "site")
    for name in ("sub/._fills_x.csv", "sub/.cache/fills_y.csv", "sub/fills_z.csv"):
        path = tmp_path / "site" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("lot,no,ml\nZ,1,500\n")

    names = {outcome.path.name for outcome in receive(tmp_path / "book", [tmp_path / "site"], None)}

    assert "fills_z.csv" in names and not names & {"._fills_x.csv", "fills_y.csv"}


def test_a_file_that_a_map_names_is_taken_from_a_folder_whatever_its_ending(tmp_path):
    """The map's pattern says what a data file is, not a list of endings."""
    write_house(tmp_path / "site")
    source_map = tmp_path / "site" / "maps" / "fills.toml"
    source_map.write_text(source_map.read_text().replace('"fills*.csv"', '"fills*.csv", "*.fil"'))
    (tmp_path / "site" / "one.fil").write_text("lot,no,ml\nZ,1,500\n")

    receive(tmp_path / "book", [tmp_path / "site"], None)

    assert "one.fil" in files_of(tmp_path / "book")


def test_a_folder_that_cannot_be_read_is_said(tmp_path, monkeypatch):
    """Nothing below it is left out without a word."""
    write_house(tmp_path / "site")
    walk = os.walk

    def closed(top, onerror):
        onerror(PermissionError(13, "Permission denied", f"{top}/shut"))
        return walk(top)

    monkeypatch.setattr(os, "walk", closed)
    with pytest.raises(SettingsError, match=r"shut.*Permission denied"):
        receive(tmp_path / "book", [tmp_path / "site"], None)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="needs named pipes")
def test_a_pipe_is_refused_and_not_waited_for(tmp_path):
    """What does not stay cannot be kept; the sentence says what to do."""
    write_house(tmp_path / "site")
    pipe = tmp_path / "site" / "fills_p.csv"
    os.mkfifo(pipe)

    (outcome,) = receive(tmp_path / "book", [pipe], None)

    assert outcome.outcome == "refused" and "save what it gives" in outcome.reason


def test_files_read_before_a_failure_are_received(tmp_path, monkeypatch):
    """A file that the disk does not take ends the command; those before it are in the book, as the sentence says."""
    write_house(tmp_path / "site", {"S1_0112.csv": LOG + SECONDS})
    grow = CopyInMaking.grow

    def full_for_the_log(copy, count):
        if count and copy.size_bytes > 100_000:
            raise OSError(28, "No space left on device")
        grow(copy, count)

    monkeypatch.setattr(CopyInMaking, "grow", full_for_the_log)
    small = [tmp_path / "site" / "intake.csv", tmp_path / "site" / "runs.csv"]
    with pytest.raises(BookError, match=r"S1_0112.*before is safe"):
        receive(tmp_path / "book", [*small, tmp_path / "site" / "S1_0112.csv"], None)

    assert files_of(tmp_path / "book") == {"intake.csv", "runs.csv"}
    assert not list((tmp_path / "book" / "readings").rglob("*.partial"))


def test_what_a_killed_process_left_is_removed(tmp_path):
    """Half-written logs of a process that died go with the next turn."""
    write_house(tmp_path / "site")
    left = tmp_path / "book" / "readings" / "incoming" / "1-1.0.partial"
    left.parent.mkdir(parents=True)
    left.write_bytes(b"half")

    receive(tmp_path / "book", [tmp_path / "site"], None)

    assert not left.exists()


def test_a_log_read_anew_leaves_no_older_reading(tmp_path):
    """The store holds just the files that the book names."""
    write_house(tmp_path / "site", {"S1_0112.csv": LOG + SECONDS + "12.01.2026 19:00:00,1e9,20\n"})
    receive(tmp_path / "book", [tmp_path / "site"], None)
    for _ in range(2):
        receive_again(tmp_path / "book", None)

    with open_book(tmp_path / "book") as book:
        named = set(book.frame("SELECT file FROM typed.log_files")["file"])
        assert book.value("SELECT count(*) FROM typed.readings") > 0
    stored = {
        path.relative_to(tmp_path / "book").as_posix() for path in (tmp_path / "book" / "readings").rglob("*.parquet")
    }
    assert stored == named


def test_an_impossible_value_is_told_in_the_unit_of_its_column(tmp_path):
    """A limit in degrees Celsius says little beside a reading in Fahrenheit."""
    write_house(tmp_path / "site", {"S1_0112.csv": LOG + "12.01.2026 10:00:00,9999.9,20\n"})
    receive(tmp_path / "book", [tmp_path / "site"], None)

    with open_book(tmp_path / "book") as book:
        (expected,) = book.frame("SELECT expected FROM typed.refused")["expected"]
    assert expected == "-30 to 150 degC (-22 to 302 degF)"


def test_no_reader_waits_for_a_copy_whose_thread_failed(tmp_path):
    """Whatever ends the copying is told to those who read; run apart, since the other way would wait for ever."""
    code = """
import sys
from pathlib import Path
from gaugebook.pipeline.received.content import CopyInMaking
from gaugebook.pipeline.received.files import Keeper
def out_of_memory(copy, count):
    if count:
        raise MemoryError
    grow(copy, count)
grow, CopyInMaking.grow = CopyInMaking.grow, out_of_memory
keeper = Keeper(Path(sys.argv[1]) / "book")
try:
    keeper.take(Path(sys.argv[1]) / "log.csv").copy.open().read()
except MemoryError:
    print("told")
keeper.close()
"""
    (tmp_path / "log.csv").write_text(SECONDS)
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, timeout=60)

    assert done.stdout == "told\n", done.stderr
