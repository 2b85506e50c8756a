"""A book that another edition of the code worked on: nothing is read from it before it is computed anew."""

from datetime import datetime
from shutil import copytree

import pytest
from click.testing import CliRunner

from gaugebook.checks.commands.check_commands import check_command
from gaugebook.checks.flags.freshness import is_checked, note_checked, require_checked, rule_book_sha256
from gaugebook.checks.rulebook.published_limits import FOLDER
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.build_state import is_of_this_edition
from gaugebook.pipeline.errors import BookError
from gaugebook.reports.accounts.account_command import account_command
from gaugebook.reports.accounts.trace_command import trace_command
from gaugebook.reports.dossier.dossier_command import dossier_command
from gaugebook.reports.runs.run_command import run_command

ELSEWHERE = "computed by another edition of gaugebook"


@pytest.fixture
def old_book(received, tmp_path):
    """The small house's book, checked, and then as an edition left it that lacked a column and judged otherwise."""
    received()
    folder = tmp_path / "book"
    CliRunner().invoke(check_command, [], obj=folder)
    with open_book(folder, writing=True) as book:
        book.execute("ALTER TABLE derived.run_balances DROP COLUMN u_hearts_l")
        book.execute("UPDATE derived.build_state SET code = 'another'")
        book.execute("UPDATE flagged.checked_from SET code = 'another'")
    return folder


@pytest.mark.parametrize(
    ("command", "arguments"),
    [(dossier_command, ["V-1"]), (account_command, []), (trace_command, ["MALT-1"]), (run_command, ["STR-1"])],
)
def test_nothing_is_read_from_what_another_edition_computed(old_book, command, arguments):
    """The sentence says what to do; no figure of another edition passes for one of this."""
    with pytest.raises(BookError, match=ELSEWHERE):
        CliRunner().invoke(command, arguments, obj=old_book, catch_exceptions=False)


def test_a_check_computes_the_quantities_anew(old_book):
    """One check brings the book up to date, columns and flags; the register tells it."""
    CliRunner().invoke(check_command, [], obj=old_book, catch_exceptions=False)

    with open_book(old_book) as book:
        assert is_of_this_edition(book)
        assert book.value("SELECT count(u_hearts_l) FROM derived.run_balances") > 0
        told = book.value("SELECT count(*) FROM register.entries WHERE kind = 'derived quantities'")
    assert told == 2


def test_flags_by_another_edition_of_the_checks_are_not_read(old_book):
    """Where only the checks changed, the book must be checked again before a document rests on its flags."""
    CliRunner().invoke(check_command, [], obj=old_book, catch_exceptions=False)
    with open_book(old_book, writing=True) as book:
        book.execute("UPDATE flagged.checked_from SET code = 'another'")

    with pytest.raises(BookError, match='run "gaugebook check" again'):
        CliRunner().invoke(dossier_command, ["V-1"], obj=old_book, catch_exceptions=False)


def test_the_digest_of_the_rule_book_holds_the_published_limits(tmp_path, rules):
    """A limit that is changed changes it, and so does a rule; another folder with the same text does not."""
    told, fewer = tuple(rules.values()), tuple(rules.values())[1:]
    copytree(FOLDER, tmp_path / "limits")
    as_published = rule_book_sha256(told, tmp_path / "limits")
    path = tmp_path / "limits" / "contaminants.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("most_ug_kg = 150.0", "most_ug_kg = 151.0"), encoding="utf-8"
    )

    assert as_published == rule_book_sha256(told)
    assert rule_book_sha256(told, tmp_path / "limits") != as_published
    assert rule_book_sha256(fewer) != rule_book_sha256(told)


def test_a_book_is_checked_until_its_records_or_the_checks_change(book):
    """Never checked, checked, of other records, of another edition of the checks: each by its own sentence."""
    with pytest.raises(BookError, match="has not been checked yet"):
        require_checked(book)
    book.execute("CREATE SCHEMA flagged")
    note_checked(book, ["a rule"], datetime(2031, 1, 2))
    require_checked(book)
    checked = book.frame("SELECT fingerprint, rule_book_sha256, checked_at FROM flagged.checked_from").row(0)
    assert checked == ("by hand", rule_book_sha256(["a rule"]), datetime(2031, 1, 2))

    for table, column in (("flagged.checked_from", "code"), ("derived.build_state", "fingerprint")):
        before = book.value(f"SELECT {column} FROM {table}")
        book.execute(f"UPDATE {table} SET {column} = 'another'")
        assert not is_checked(book)
        with pytest.raises(BookError, match="has changed since it was checked"):
            require_checked(book)
        book.execute(f"UPDATE {table} SET {column} = ?", [before])
        assert is_checked(book)
