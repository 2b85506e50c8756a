"""The fills of a dossier: by the law of the product, and never by another's."""

import dataclasses

import pytest
from demo_book import VODKA, demo_house, write_demo_book

from gaugebook.checks.rulebook.published_limits import label_at_20c
from gaugebook.pipeline.book.database import open_book
from gaugebook.reports.dossier.batch import gather_batch
from gaugebook.reports.dossier.dossier import dossier_html
from gaugebook.reports.dossier.fills import fill_facts
from gaugebook.reports.dossier.limits import limits_of
from gaugebook.reports.page.language import language

ENGLISH = language("en")


@pytest.fixture(scope="module")
def batch(tmp_path_factory):
    """A vodka of the demo with twenty fills."""
    with open_book(write_demo_book(tmp_path_factory.mktemp("book"))) as book:
        return gather_batch(book, demo_house(), VODKA)


@pytest.fixture
def under(batch):
    """The batch under another law: under("US", fills_over=3)."""

    def make(jurisdiction, **bottling):
        product = dataclasses.replace(batch.product, jurisdiction=jurisdiction)
        said = {"jurisdiction": jurisdiction, "tolerable_negative_error_ml": None, "fills_asked": None} | bottling
        changed = dataclasses.replace(batch.bottling, **said)
        return dataclasses.replace(batch, product=product, bottling=changed)

    return make


def test_the_reference_test_says_what_the_plan_asks(under):
    """Directive 76/211/EEC, Annex II, 2.2.1: 80 of 5000, accepted with 3, refused with 7; 30 measured do not pass."""
    eu = {"tolerable_negative_error_ml": 15.0, "fills_asked": 80, "bottles_filled": 5000}
    judged = dict(fill_facts(under("EU", accepted_below_tne=3, rejected_below_tne=7, **eu), ENGLISH))
    small = dict(fill_facts(under("EU", **eu), ENGLISH))

    assert judged["Reference test"] == (
        "sample of 80 for 5,000 bottles; accepted with 3 or fewer short, refused with 7 or more"
    )
    assert small["Reference test"] == "sample of 80 for 5,000 bottles; 20 were measured, so the test is not passed"


def test_a_dossier_of_the_united_states_knows_no_tolerable_error(under):
    """27 CFR 19.356(b)(2): 2.0 % of 376 to 999 mL either way, overfills beside underfills, contents at 60 °F; of the
    European Union's test there is not a word."""
    batch = under("US", fills_over=9, fills_under=11, stated_strength_pct_vol=40.0)
    facts = dict(fill_facts(batch, ENGLISH))
    page = dossier_html(batch, "0" * 64)
    section = page[page.index('id="bottling"') : page.index('id="panel"')]

    assert facts["Variation of a bottle"].startswith("at most 2.0 % either way; greatest 0.")
    assert facts["Over, under nominal"] == "9 over, 11 under; contents at 60 °F"
    assert "olerable" not in section and "76/211" not in section
    assert "net content at 60 °F [mL]" in section and "40.00 % vol at 60 °F" in section


def test_fills_without_a_law_say_so(under):
    """Under a law that is not held here the figures stand alone."""
    assert fill_facts(under("CH"), ENGLISH) == [
        ("Law of fills", "none is held here for CH; the fills were compared with no law")
    ]


def test_a_label_is_drawn_where_the_laboratory_measures(under):
    """80 proof, 40 % at 60 °F, is 40.069 % vol at 20 °C (27 CFR 30.11, OIML R 22), and so are ±0.3 about it."""
    product = dataclasses.replace(under("US").product, label_strength_pct_vol=40.0, macerated=False)

    limit = limits_of(product)["strength"]

    assert label_at_20c(40.0, "US") == pytest.approx(40.069, abs=0.001)
    assert (limit.least, limit.most) == pytest.approx((39.769, 40.369), abs=0.002)
