"""The verdict says first what the house profile lowers of rules of law, and whom it lets decide."""

import dataclasses

import pytest
from demo_book import VODKA, demo_house, write_demo_book

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.house.settings import Decisions
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_html
from gaugebook.reports.dossier.records import RuleInForce, Standing
from gaugebook.reports.dossier.verdict import verdict
from gaugebook.reports.page.language import language

ENGLISH = language("en")


def softened(rule, grade):
    """A rule of law as the house lowered it."""
    by = "severity: stops release -> for information"
    return RuleInForce(rule, "a quantity", "a limit", None, "for information", "27 CFR 5.65", True, True, grade, by, 1)


@pytest.fixture(scope="module")
def clear(tmp_path_factory):
    """A batch of the demo in whose way nothing stands, by a house that changed no rule."""
    with open_book(write_demo_book(tmp_path_factory.mktemp("book"))) as book:
        return gather_batch(book, demo_house(), VODKA)


def test_a_house_that_lowers_nothing_has_nothing_to_say(clear):
    """The verdict of a house with the rule book's own rules and people is the flags' alone."""
    assert verdict(clear, ENGLISH).house == ()


def test_a_rule_below_the_law_is_in_the_verdict(clear):
    """The batch is stopped without a flag, and the first page says by which rule, before what it is."""
    stopped = dataclasses.replace(
        clear, standing=Standing("stopped", 0, 0, 0), rules_in_force=(softened("label-strength", "below the law"),)
    )

    made = verdict(stopped, ENGLISH)
    page = dossier_html(stopped, "0" * 64)

    assert (made.sign, made.headline) == ("stopped", "May not go")
    assert made.sentence == "The house's own rules stand in the way."
    assert made.house == (
        "The house profile sets 1 rule of law below the law: label-strength. Nothing can be released under it.",
    )
    assert page.index("1 rule of law below the law") < page.index("Batch (bottled lot)")
    assert page.count("changed by the house profile, below the law") == 1  # beside the rule in force


def test_what_is_eased_and_who_decides_is_in_the_verdict(clear):
    """Two rules eased, an owner who decides and a person who overrules: three sentences, in each language."""
    house = dataclasses.replace(clear.house, decisions=Decisions(("qa lead", "owner"), ("FW", "BN")))
    rules = (softened("fill-average", "eased"), softened("methanol-limit", "eased"))
    eased = dataclasses.replace(clear, house=house, rules_in_force=rules)

    assert verdict(eased, ENGLISH).house == (
        "The house profile eases 2 rules of law where a result is in doubt or missing: fill-average, methanol-limit.",
        "The house profile lets decide besides the QA lead: owner.",
        "The house profile lets release against flags: FW, BN.",
    )
    assert verdict(eased, language("de")).house[1] == (
        "Das Betriebsprofil lässt außer der QA-Leitung entscheiden: Inhaber."
    )
