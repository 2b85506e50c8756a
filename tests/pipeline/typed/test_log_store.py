"""Logs beside the book: files of before and after a tag was known are read together."""

from datetime import datetime, timedelta

import polars as pl
import pytest

import gaugebook.pipeline.typed.log_store as module
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.curves.run_curves import HERE
from gaugebook.pipeline.typed.log_store import LogFile, log_path, show_readings

START = datetime(2031, 3, 3, 7)


@pytest.mark.parametrize("later", [(), ("heating_kw",)])
def test_a_file_of_before_a_tag_has_no_value_of_it(tmp_path, monkeypatch, later):
    """Its other values are all there, alone and beside a file that has the tag."""
    old = {name: kind for name, kind in module.SCHEMA.items() if name != "heating_kw"}
    with open_book(tmp_path / "book", writing=True) as book:
        for stage in ("received", "landed", "typed"):
            book.run_file(HERE.parents[1] / stage / "schema.sql")
        for source, tags in enumerate([("pot_temperature_c",), *([later] if later else [])], start=1):
            with monkeypatch.context() as patched:
                if source == 1:
                    patched.setattr(module, "SCHEMA", old)
                rows = pl.DataFrame(
                    {
                        "equipment": ["S1", "S1"],
                        "read_at": [START + timedelta(hours=source), START + timedelta(hours=source, minutes=1)],
                        "line": [1, 2],
                        **{tag: [float(source), float(source)] for tag in tags},
                    }
                )
                log = LogFile(log_path(book.folder, f"{source:064d}", 0, 1))
                log.add(rows, source)
                log.close(book, source)
        show_readings(book)
        told = book.frame("SELECT tag, count(*) FROM typed.readings GROUP BY tag ORDER BY tag").rows()

    assert told == [*((tag, 2) for tag in later), ("pot_temperature_c", 2)]
