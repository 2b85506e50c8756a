"""What the house profile lowered, in words: below the law, eased, and who decides besides (made up)."""

from pathlib import Path

from by_hand import put_row

from gaugebook.checks.rulebook.softened_rules import below_the_law, lowered, lowered_in_words

SCHEMA = Path(__file__).parents[3] / "gaugebook" / "checks" / "schema.sql"
DECISIONS = """
[decisions]
may_decide = ["qa lead", "distiller"]
may_overrule = ["FW"]
"""


def test_each_grade_is_told_by_its_own_sentence(book):
    """Rules below the law in one sentence, eased ones in another, those as strict in none; roles in two more."""
    book.run_file(SCHEMA)
    for rule, softened, by in [
        ("b-rule", "below the law", "coverage: 2 -> 0"), ("a-rule", "eased", "doubtful: x -> y"),
        ("c-rule", None, None),
    ]:  # fmt: skip
        put_row(book, "flagged.rules", rule=rule, subject="lots", quantity="q", compared="c", severity="s",
                citation="made up", by_house=True, of_law=True, softened=softened, softened_by=by)  # fmt: skip
    book.execute("UPDATE received.houses SET text = text || ?", [DECISIONS])

    assert below_the_law(book) == ("b-rule (coverage: 2 -> 0)",)
    assert [row["rule"] for row in lowered(book)["rules"]] == ["a-rule", "b-rule"]
    assert lowered_in_words(book) == (
        "Rules of law that the house profile sets below the law, so nothing is released: b-rule (coverage: 2 -> 0).",
        "Rules of law that the house profile eases near a limit: a-rule (doubtful: x -> y).",
        "The house profile lets decide besides the QA lead: distiller.",
        "The house profile lets release against flags: FW.",
    )


def test_nothing_lowered_is_nothing_said(book):
    """Under the profile as it stands, and without any profile."""
    book.run_file(SCHEMA)
    assert lowered_in_words(book) == below_the_law(book) == ()
    book.execute("DELETE FROM received.houses")
    assert lowered_in_words(book) == ()
