"""A small book in which everything has happened that its register tells of, and the documents made from it."""

from datetime import datetime
from pathlib import Path

from click.testing import CliRunner
from small_house import write_house

from gaugebook.checks.decisions.decisions import decide
from gaugebook.checks.flags.flag_lifecycle import explain
from gaugebook.checks.run import effective_rules, run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.intake.flow import derive, receive
from gaugebook.pipeline.typed.amendments import Target, amend
from gaugebook.reports.cli import main

AT = datetime(2026, 1, 20, 12)
QA = '\n[[people]]\ncode = "QA"\nrole = "qa lead"\n[decisions]\nmay_overrule = ["QA"]\n'


def write_lived_book(folder: Path) -> Path:
    """The book of the small house: files, one of them refused, an amendment, an explanation with a photograph, a
    decision. Returns its folder."""
    site = folder.parent / "site"
    write_house(site, {"odd.csv": "a,b\n1,2\n"})
    with (site / "house.toml").open("a") as profile:
        profile.write(QA)
    receive(folder, [site], None)
    photograph = folder.parent / "photograph.txt"
    photograph.write_text("what the scale showed")
    with open_book(folder, writing=True) as book:
        with book.transaction():
            amend(book, Target("moves.csv", None, 9), "strength_reading", "79.5", "AB", "misread", AT, "UTC")
            derive(book)
        run_checks(book, AT)
        flag = book.value("SELECT flag FROM flagged.flags WHERE severity = 'needs explanation' ORDER BY flag")
        with book.transaction():
            explain(book, profile_in_force(book), flag, "AB", "the scale was moved", AT, photograph)
        with book.transaction():
            rules, _ = effective_rules(book)
            decide(book, profile_in_force(book), rules, "RYE-1", "held", "QA", "the second result is awaited", AT)
        run_checks(book, AT)
    return folder


def issue_documents(book: Path, out: Path) -> None:
    """The dossier of its batch and the account of its month, by command."""
    for words in (("dossier", "RYE-1"), ("account", "2026-01")):
        result = CliRunner().invoke(main, ["--book", str(book), *words, "--out", str(out)])
        assert result.exit_code in (0, 1), result.output
