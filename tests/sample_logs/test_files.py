"""The committed files of the demo: what the generator makes, what becomes of their rows, what is broken."""

import csv
import io
import re
import tomllib
from collections import Counter

import openpyxl
import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.settings import read_house
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received.source_map import maps_for, read_maps
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.map_validation import validate_maps


@pytest.fixture(scope="module")
def maps(sample_logs):
    return read_maps(sample_logs / "maps", tuple(RECORDS))


def test_generator_makes_the_committed_bytes(outputs, sample_logs):
    """Making the files anew gives the committed ones, byte for byte, and no others are there."""
    differing = [o.path for o in outputs if (sample_logs / o.path).read_bytes() != o.content]
    there = {
        path.relative_to(sample_logs).as_posix()
        for folder in sample_logs.iterdir()
        if folder.is_dir() and re.fullmatch(r"\d{4}-\d\d|broken", folder.name)
        for path in folder.iterdir()
    }

    assert differing == []
    assert there == {o.path for o in outputs if "/" in o.path}


def test_files_stay_small(outputs):
    """All files together stay under 15 MB."""
    assert sum(len(o.content) for o in outputs) < 15e6


def test_profile_and_maps_are_accepted(sample_logs, maps):
    """The house profile reads, and each source map fits its records."""
    assert read_house(sample_logs / "house.toml").name == "Quillmere Stillhouse"
    validate_maps(maps)


def test_each_file_has_one_map(outputs, sample_logs, maps):
    """Of the maps exactly one takes each data file by its name."""
    for output in outputs:
        if output.sections:
            assert len(maps_for(sample_logs / output.path, maps)) == 1


def _expected(sample_logs):
    return list(csv.DictReader((sample_logs / "expected.csv").read_text(encoding="utf-8").splitlines()))


def test_rows_of_each_file_become_what_expected_csv_says(sample_book, sample_logs):
    """Rows in, kept, refused and passed over of every file and kind are those of expected.csv, as received."""
    columns = ("rows_in", "kept", "held", "refused", "passed_over")
    expected = {(row["file"], row["kind"]): tuple(int(row[n]) for n in columns) for row in _expected(sample_logs)}
    with open_book(sample_book) as book:
        rows = book.frame("""
            SELECT regexp_extract(f.origin, '[^/]+$') || '/' || f.name AS file, kind, sum(rows_in)::INTEGER,
                   sum(kept)::INTEGER, sum(held)::INTEGER, sum(refused)::INTEGER, sum(passed_over)::INTEGER
            FROM typed.row_counts JOIN landed.sources USING (source_id) JOIN received.files AS f USING (file_id)
            GROUP BY ALL
        """).rows()

    assert {(file, kind): tuple(counts) for file, kind, *counts in rows} == expected


def test_seven_ordinary_rows_cannot_be_read(sample_logs):
    """The unreadable cells are the seven that the README names, in logs and dips only."""
    rows = _expected(sample_logs)

    refused = Counter()
    for row in rows:
        refused[row["kind"]] += int(row["refused"])

    assert +refused == Counter({"readings": 6, "stock": 1})


def test_workbooks_are_readable_elsewhere(outputs):
    """An independent reader (openpyxl) finds the sheets, and times as times to the minute."""
    content = next(o.content for o in outputs if o.path.endswith("runs_2025-11.xlsx"))
    book = openpyxl.load_workbook(io.BytesIO(content))

    assert book.sheetnames == ["Runs", "Gauges", "Bottling"]
    header = [cell.value for cell in book["Runs"][3]]
    started = [row[header.index("Start")].value for row in book["Runs"].iter_rows(min_row=4)]
    assert len(started) > 20
    assert all((value.year, value.month, value.second) == (2025, 11, 0) for value in started)


def test_planted_faults_are_all_sixteen_and_stand_in_the_readme(sample_logs):
    """The sixteen faults are planted, and the README names each with its rule and its records."""
    faults = tomllib.loads((sample_logs / "planted_faults.toml").read_text(encoding="utf-8"))["faults"]
    readme = (sample_logs / "README.md").read_text(encoding="utf-8")

    assert len({fault["fault"] for fault in faults}) == 16
    for fault in faults:
        assert fault["rule"] in readme
        assert all(record in readme for record in fault["records"]), fault


def test_readme_says_that_all_is_invented(sample_logs):
    """README and house profile say plainly that the house is invented."""
    assert "All of this is invented" in (sample_logs / "README.md").read_text(encoding="utf-8")
    assert "invented" in read_house(sample_logs / "house.toml").note


def test_broken_files_hold_one_fault_each(tmp_path, sample_logs):
    """No broken file passes whole: it is refused, or a row of it is, or it holds no row."""
    broken = sorted((sample_logs / "broken").iterdir())

    outcomes = receive(tmp_path / "book", broken, sample_logs / "house.toml")

    assert len(outcomes) == len(broken) >= 15
    whole = [outcome.path.name for outcome in outcomes if _passed(outcome)]
    assert whole == []


def _passed(outcome):
    rows_in, refused = (sum(getattr(counts, name) for counts in outcome.counts) for name in ("rows_in", "refused"))
    return outcome.outcome == "received" and rows_in > 0 and refused == 0
