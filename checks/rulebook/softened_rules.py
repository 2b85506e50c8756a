"""What the house profile lowers of rules of law, as the last check found it, and whom it lets decide: for verdicts, for
what a decision rests on, and for the screen."""

from typing import Any

from gaugebook.checks.rulebook.softening import Grade, widened
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.house.profile_in_force import profile_in_force
from gaugebook.pipeline.house.settings import Decisions

LOWERED = "SELECT rule, softened, softened_by FROM flagged.rules WHERE softened IS NOT NULL ORDER BY rule"

GRADES = {
    Grade.BELOW: "sets below the law, so nothing is released",
    Grade.EASED: "eases where a result is in doubt or missing",
}


def lowered(book: Book) -> dict[str, Any]:
    """Rules of law that the house profile lowered, and who decides beyond the default, as plain data."""
    held = book.value("SELECT count(*) FROM received.houses")
    wider = widened(profile_in_force(book).decisions if held else Decisions())
    return {
        "rules": book.frame(LOWERED).to_dicts(),
        "may_decide_too": list(wider.may_decide),
        "may_overrule": list(wider.may_overrule),
    }


def below_the_law(book: Book) -> tuple[str, ...]:
    """Rules that the house profile sets below the law, each with what it changed."""
    return tuple(f"{rule} ({by})" for rule, grade, by in book.frame(LOWERED).iter_rows() if grade == Grade.BELOW.value)


def lowered_in_words(book: Book) -> tuple[str, ...]:
    """The same as sentences for the screen; none where the profile lowers nothing."""
    lowered_rules = lowered(book)
    sentences = []
    for grade, opening in (
        (Grade.BELOW, "sets below the law, so nothing is released"),
        (Grade.EASED, "eases near a limit"),
    ):
        rules = [
            f"{row['rule']} ({row['softened_by']})" for row in lowered_rules["rules"] if row["softened"] == grade.value
        ]
        if rules:
            sentences.append(f"Rules of law that the house profile {opening}: {', '.join(rules)}.")
    if lowered_rules["may_decide_too"]:
        sentences.append(
            f"The house profile lets decide besides the QA lead: {', '.join(lowered_rules['may_decide_too'])}."
        )
    if lowered_rules["may_overrule"]:
        sentences.append(f"The house profile lets release against flags: {', '.join(lowered_rules['may_overrule'])}.")
    return tuple(sentences)
