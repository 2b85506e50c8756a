"""A book that an earlier version wrote is received into, checked, decided on and verified."""

import json
import tarfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from record_tables import columns_of, table_of

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.book.migration import KIND, current_edition, edition_of, migrate, migrations
from gaugebook.pipeline.errors import BookError
from gaugebook.pipeline.typed.kinds import IN_TABLES
from gaugebook.reports.cli import main
from gaugebook.reports.proof.verification import verify_book

KEPT_BOOKS = Path(__file__).parents[2] / "books"  # one a edition: site/ and book/, packed
ADDED_COLUMN = "ALTER TABLE typed.intake ADD COLUMN vintage INTEGER;\n"


@pytest.fixture(params=sorted(KEPT_BOOKS.glob("edition_*.tgz")), ids=lambda path: path.stem)
def kept(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Folder with the site and the book of an earlier edition."""
    with tarfile.open(request.param) as packed:
        packed.extractall(tmp_path, filter="data")
    return tmp_path


def run(folder: Path, *words: str) -> Result:
    """A command on the book that was done; whether something needs attention is not the matter here."""
    result = CliRunner().invoke(main, ["--book", str(folder / "book"), *words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code in (0, 1), result.output
    return result


def add_migration(folder: Path, edition: int, sql: str) -> None:
    folder.mkdir(exist_ok=True)
    (folder / f"{edition:04}_made_up.sql").write_text(sql)


def test_every_edition_but_the_first_has_a_migration():
    """Migrations are numbered from 2 without a gap, and a kept book stands for each earlier edition."""
    assert list(migrations()) == list(range(2, current_edition() + 1))
    assert len(list(KEPT_BOOKS.glob("edition_*.tgz"))) >= current_edition() - 1


def test_a_kept_book_verifies_as_it_is(kept):
    """Before anything is brought up to date, the register of an older book holds."""
    result = run(kept, "verify")

    assert result.exit_code == 0, result.output


def test_a_kept_book_goes_on(kept):
    """Receive, check, decide and amend on an older book; its history stays and the register holds after each."""
    with open_book(kept / "book") as book:
        before = register.entries(book)
    site = kept / "site"
    header = (site / "lab.csv").read_text().splitlines()[0]
    (site / "lab_2.csv").write_text(f"{header}\nL9;RED-L1;methanol;<5;mg/L;;2;\n")
    (site / "house.toml").write_text((site / "house.toml").read_text() + "\n# another edition of the profile\n")

    for words in (
        ("receive", "--house", str(site / "house.toml"), str(site)),
        ("check",),
        ("decide", "RYE-1", "--hold", "--by", "QA", "--reason", "seen again"),
        ("amend", "moves.csv:9", "strength_reading", "79.4", "--by", "AB", "--reason", "read once more"),
        ("check",),
    ):
        run(kept, *words)
        with open_book(kept / "book") as book:
            assert verify_book(book).faults == ()

    with open_book(kept / "book") as book:
        assert register.entries(book)[: len(before)] == before
        assert edition_of(book) == current_edition()
        assert book.value("SELECT count(*) FROM history.decisions") == 2
        assert book.value("SELECT count(*) FROM typed.laboratory WHERE sample = 'L9'") == 1


def test_a_kept_book_gets_the_tables_of_the_records(kept):
    """After migrations each table has the fields of its record, in whatever order; new tables are made."""
    run(kept, "check")

    with open_book(kept / "book") as book:
        for record in IN_TABLES:
            assert columns_of(book, record.table) == table_of(record), record.kind


def test_check_alone_brings_a_kept_book_up_to_date(kept):
    """Nobody has to receive something first."""
    run(kept, "check")
    assert run(kept, "verify").exit_code == 0
    assert run(kept, "dossier", "RYE-1", "--out", str(kept / "out")).exit_code == 0


def test_an_added_column_enters_the_register_and_changes_no_value(kept, tmp_path):
    """Rows are restated file by file, and verification holds before and after."""
    with open_book(kept / "book", writing=True) as book:
        with book.transaction():
            migrate(book)
        edition = edition_of(book)
        add_migration(tmp_path / "more", edition + 1, ADDED_COLUMN)
        rows = book.frame("SELECT * FROM typed.intake ORDER BY ALL")
        with book.transaction():
            assert migrate(book, tmp_path / "more") == [edition + 1]

        assert book.frame("SELECT * EXCLUDE vintage FROM typed.intake ORDER BY ALL").equals(rows)
        assert verify_book(book).faults == ()
        told = register.entries(book)[-1]
        assert (told.kind, told.data["edition"]) == (KIND, edition + 1)
        assert told.data["migration"] == f"{edition + 1:04}_made_up.sql"
        with book.transaction():
            assert migrate(book, tmp_path / "more") == []


def test_an_altered_book_is_not_brought_up_to_date(kept, tmp_path):
    """What was altered behind the register's back is named, not entered anew."""
    with open_book(kept / "book", writing=True) as book:
        with book.transaction():
            migrate(book)
        add_migration(tmp_path / "more", edition_of(book) + 1, ADDED_COLUMN)
        book.execute("UPDATE typed.intake SET lot = lot || '!'")
        with (
            pytest.raises(BookError, match=r"typed\.intake of file \d+.* not what its register tells"),
            book.transaction(),
        ):
            migrate(book, tmp_path / "more")
        assert not book.has_column("typed.intake", "vintage")


def test_a_book_of_a_later_version_is_left_alone(kept, tmp_path):
    """An older version says that it is older, and changes nothing."""
    with open_book(kept / "book", writing=True) as book:
        add_migration(tmp_path / "more", current_edition() + 1, ADDED_COLUMN)
        with book.transaction():
            migrate(book)
            migrate(book, tmp_path / "more")
        with pytest.raises(BookError, match="later version"), book.transaction():
            migrate(book)


def test_a_new_book_begins_at_the_current_edition(received, tmp_path):
    """The first entry of a new book tells the edition, and nothing has to be migrated."""
    received()

    with open_book(tmp_path / "book") as book:
        first = register.entries(book)[0]
        assert (first.kind, first.data) == (KIND, {"edition": current_edition()})


def test_amended_records_of_an_older_book_get_keys_by_their_fields(tmp_path):
    """Texts are taken apart where they can be; where a name holds the sign between them, the record at the place says
    which part is which, also where its key was amended since; of a record that is gone nothing is guessed."""
    with tarfile.open(KEPT_BOOKS / "edition_3.tgz") as packed:
        packed.extractall(tmp_path, filter="data")
    with open_book(tmp_path / "book", writing=True) as book:
        book.execute("DELETE FROM register.entries WHERE number > 1")  # so that a row may be put in
        book.execute(
            "INSERT INTO typed.amendments SELECT 7, kind, 'GONE / 1 / in / L / grain /  / ', source_id, 99, "
            "* EXCLUDE (amendment, kind, record, source_id, line) FROM typed.amendments WHERE amendment = 6"
        )
        with book.transaction():
            migrate(book)
        keys = dict(book.frame("SELECT amendment, record_key FROM typed.amendments").iter_rows())

    read = {number: None if key is None else json.loads(key) for number, key in keys.items()}
    spirit = {
        "run": "STR-1",
        "direction": "out",
        "lot": "SPIRIT-1",
        "part": "hearts",
        "vessel": "T1",
        "gauged_at": None,
    }
    gravity = {"lot": "WORT / 2", "analyte": "specific_gravity", "replicate": "1", "method": None, "measured_at": None}
    mashed = {
        "run": "MSH / 2",
        "direction": "in",
        "lot": "RYE A, B / C",
        "part": "grain",
        "vessel": None,
        "gauged_at": None,
    }
    assert read == {
        1: spirit, 2: {"sample": "L8 / B"} | gravity, 3: {"sample": "L8 / B"} | gravity,
        4: {"sample": "L8 / C"} | gravity, 5: {"lot": "RYE A, B / C"}, 6: mashed, 7: None,
    }  # fmt: skip


def test_amendments_of_an_older_book_find_their_records_again(tmp_path):
    """After the migration the files are read anew, and each amendment is in force."""
    with tarfile.open(KEPT_BOOKS / "edition_3.tgz") as packed:
        packed.extractall(tmp_path, filter="data")
    site = tmp_path / "site"
    for name in ("lab", "moves", "intake"):
        path = site / "maps" / f"{name}.toml"
        path.write_text(path.read_text() + "\n# mended\n")

    printed = run(tmp_path, "receive", "--again", "--house", str(site / "house.toml")).output

    assert "finds its record no more" not in printed
    assert run(tmp_path, "verify").exit_code == 0
    with open_book(tmp_path / "book") as book:
        assert book.frame("SELECT sample, value FROM typed.laboratory WHERE lot = 'WORT / 2'").rows() == [
            ("L8 / C", 1.057)
        ]
        assert book.value("SELECT mass_kg FROM typed.movements WHERE run = 'MSH / 2' AND direction = 'in'") == 101
        assert book.value("SELECT quantity_kg FROM typed.intake WHERE lot = 'RYE A, B / C'") == 310
