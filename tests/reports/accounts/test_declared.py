"""A month as declared: frozen in the book, entered in the register, held against what becomes known later."""

import json
from datetime import date
from hashlib import sha256

import pytest
from click.testing import CliRunner
from goods_house import counted, gone, goods_book
from hypothesis import given
from hypothesis import strategies as st
from pdf_text import pdf_text

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.intake.flow import profile_in_force, receive
from gaugebook.reports.accounts.account import gather_account
from gaugebook.reports.accounts.declared import differences
from gaugebook.reports.cli import main
from gaugebook.reports.proof.verification import verify_book


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """February declared with 60 bottles sent out; then the note of 12 more of that month turns up."""
    root = tmp_path_factory.mktemp("declared")
    folder = goods_book(
        root, dispatches=[gone(60, "2026-02-02", document="D-1")], inventory=[counted(140, "2026-02-28")]
    )
    out = str(root / "out")
    first = CliRunner().invoke(
        main, ["--book", str(folder), "account", "2026-02", "--declare", "--by", "AB", "--out", out]
    )
    late = root / "late"
    late.mkdir()
    head = (root / "site" / "dispatches.csv").read_text(encoding="utf-8").splitlines()
    row = head[1].replace("60", "12").replace("2026-02-02", "2026-02-25").replace("D-1", "D-2")
    (late / "dispatches.csv").write_text(f"{head[0]}\n{row}\n", encoding="utf-8")
    receive(folder, [late], root / "site" / "house.toml")
    return folder, first, out


def test_a_declaration_is_entered_in_the_register(house):
    """With the person, the role and the SHA-256 of the data that the book keeps."""
    folder, first, _ = house
    with open_book(folder) as book:
        [entry] = register.entries(book, "declaration")
        data = book.value("SELECT data FROM history.declarations")

    assert "Declared by AB" in first.output and "Nothing has changed since." in first.output
    assert (entry.subject, entry.data["person"], entry.data["role"]) == ("account 2026-02", "AB", "head distiller")
    assert entry.data["data_sha256"] == sha256(data.encode()).hexdigest()
    assert json.loads(data)["about"]["month"] == "2026-02"


def test_a_late_record_shows_as_a_change(house):
    """12 bottles of 0.2065 LPA more left than was declared: 2.48 LPA, with the file and line behind it."""
    folder, _, out = house
    with open_book(folder) as book:
        told = gather_account(book, profile_in_force(book), date(2026, 2, 1)).declared
    changes = {(row["column"], row["unit"]): row for row in told.changes}

    assert set(changes) == {
        ("dispatched, in bond", "LPA"), ("dispatched, in bond", "bottles"), ("closing", "LPA"), ("closing", "bottles"),
    }  # fmt: skip
    assert changes["dispatched, in bond", "bottles"]["difference"] == -12
    assert changes["dispatched, in bond", "LPA"]["difference"] == pytest.approx(-2.48)
    assert changes["dispatched, in bond", "LPA"]["records"] == ["dispatches.csv:2"]
    assert told.since == ["file received dispatches.csv"]
    result = CliRunner().invoke(main, ["--book", str(folder), "account", "2026-02", "--out", out])
    assert result.exit_code == 1
    assert (
        "WHISKY, dispatched, in bond: declared -60.00, now -72.00 (-12.00 bottles) [dispatches.csv:2]" in result.output
    )
    paper = " ".join(pdf_text((house[0].parent / "out" / "account-2026-02.pdf").read_bytes()).split())
    assert "What has become known since" in paper


def test_the_book_still_holds(house):
    """Verification finds nothing at fault; one altered figure of the declaration it does find."""
    folder, _, _ = house
    with open_book(folder) as book:
        assert verify_book(book).holds
    with open_book(folder, writing=True) as book, pytest.raises(AssertionError), book.transaction():
        book.execute("UPDATE history.declarations SET data = replace(data, '-60', '-59')")
        assert verify_book(book).holds


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["account", "2026-02", "--declare"], "--by PERSON"),
        (["account", "2026-02", "--by", "AB"], "--by PERSON"),
        (["account", "2026-02", "--declare", "--by", "XY"], "nobody in the house profile; known: AB, QA"),
    ],
)
def test_who_declares_must_be_known(house, words, says):
    """A declaration without a person, or by one whom the house does not know, is refused."""
    result = CliRunner().invoke(main, ["--book", str(house[0]), *words])

    assert isinstance(result.exception, GaugebookError)
    assert says in str(result.exception)


figures = st.dictionaries(
    st.sampled_from(["T1", "T2", "T3"]),
    st.fixed_dictionaries({"closing": st.integers(-999, 999).map(lambda n: n / 100)}),
)


@given(figures, figures)
def test_differences_bring_what_was_declared_to_what_is(then, now):
    """What was declared plus the difference is what the account says now; nothing differs from itself."""
    data = [{"rows": [{"place": p} | row for p, row in state.items()], "goods": []} for state in (then, now)]
    changed = {row["place"]: row["difference"] for row in differences(*data)}

    assert differences(data[0], data[0]) == []
    for place in {*then, *now}:
        before, after = (state.get(place, {"closing": 0.0})["closing"] for state in (then, now))
        assert before + changed.get(place, 0.0) == pytest.approx(after, abs=1e-9)


def test_a_month_declared_before_gains_had_a_column_is_compared_as_it_was_kept():
    """Then a cask's gain stood among the losses with its sign; splitting them changes nothing that was declared."""
    then = {"rows": [{"place": "C1", "cask_loss": -4.2, "closing": 10.0}], "goods": []}
    now = {"rows": [{"place": "C1", "cask_loss": -7.2, "cask_gain": 3.0, "closing": 10.0}], "goods": []}
    later = {"rows": [{"place": "C1", "cask_loss": -7.2, "cask_gain": 3.5, "closing": 10.5}], "goods": []}

    assert differences(then, now) == []
    assert [change["column"] for change in differences(then, later)] == ["cask_loss", "closing"]
    assert [change["column"] for change in differences(now, later)] == ["cask_gain", "closing"]
