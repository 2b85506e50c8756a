"""A rule of law that the house profile lowers is found, whatever it was lowered by; a stricter one is none."""

import math
import re
from dataclasses import fields, replace

import pytest

from gaugebook.checks.rulebook.rule import Rule
from gaugebook.checks.rulebook.softening import Grade, softened, softened_rules, widened
from gaugebook.pipeline.house.settings import Decisions

CITES_LAW = re.compile(r"Regulation|Directive|\bCFR\b")
GUARDS_THE_LAW = {"product-known", "category-known", "jurisdiction-known"}  # they say whether law was asked at all
INF = math.inf


def test_every_rule_that_cites_law_says_so(rules):
    """The mark stands on each rule whose citation names a text of law, and on those that tell whether one was asked."""
    cite = {name for name, rule in rules.items() if CITES_LAW.search(rule.citation)}

    assert {name for name, rule in rules.items() if rule.of_law} == cite | GUARDS_THE_LAW
    assert all(rule.of_law for rule in rules.values() if rule.law)


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("label-strength", {"law": ("-tolerance_pct_vol - 0.2", "tolerance_pct_vol + 0.2")}),
        ("label-strength", {"law": ("-tolerance_pct_vol", "2 tolerance_pct_vol")}),
        ("label-strength", {"law": (-0.5, 0.5)}), ("label-strength", {"coverage": 3.0}),
        ("label-strength", {"severity": "needs explanation"}), ("label-strength", {"u": "tolerance_pct_vol"}),
        ("label-strength", {"where": {"jurisdiction": "NOWHERE"}}),
        ("label-strength", {"where": {"jurisdiction": "EU", "product": "GIN"}}),
        ("label-strength", {"where_known": ("category_citation",)}),
        ("label-strength", {"in_force_until": 1, "dated": "bottled_at"}),
        ("methanol-limit", {"law": (-INF, "1.1 most")}), ("methanol-limit", {"law": (-INF, "most + 1")}),
        ("category-strength", {"law": (-INF, "least_strength_pct_vol")}),
        ("distillate-strength-limit", {"below": False}),
        ("fill-tolerable-error", {"possible": (-INF, "rejected_below_tne")}),
        ("fill-tolerable-error", {"possible": ()}), ("fill-tolerable-error", {"doubtful": "for information"}),
        ("fill-twice-error", {"possible": (-INF, 1)}), ("nominal-volume", {"present": False, "possible": (0, INF)}),
        ("category-known", {"severity": "for information"}),
    ],
)  # fmt: skip
def test_what_is_below_the_law(rules, rule, change):
    """A limit moved outward, less grave, fewer rows, or something else compared: nothing may be released under it."""
    found = softened(rules[rule], replace(rules[rule], **change))

    assert found is not None and found.grade is Grade.BELOW
    assert {key for key, _, _ in found.changes} == set(change)


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("methanol-limit", {"coverage": 0.0}), ("neutral-spirit-residues", {"coverage": 0.0}),
        ("methanol-limit", {"coverage": 1.0}), ("label-strength", {"doubtful": "for information"}),
        ("fill-average", {"not_evaluated": "for information"}),
        ("fill-tolerable-error", {"in_range": (-INF, "rejected_below_tne - 1")}),
    ],
)  # fmt: skip
def test_what_eases_a_rule_in_doubt(rules, rule, change):
    """Less doubt near a limit, or about what is missing: said in every verdict, and no bar to a release."""
    found = softened(rules[rule], replace(rules[rule], **change))

    assert found is not None and found.grade is Grade.EASED


@pytest.mark.parametrize(
    ("rule", "change"),
    [
        ("label-strength", {}), ("label-strength", {"law": ("-0.5 tolerance_pct_vol", "tolerance_pct_vol - 0.1")}),
        ("label-strength", {"coverage": 0.0}), ("label-strength", {"reason": "Ours.", "to_do": "Ask EV."}),
        ("label-strength", {"doubtful": "stops release"}), ("label-strength", {"where": {}}),
        ("methanol-limit", {"law": (-INF, "0.9 most")}), ("fill-average", {"not_evaluated": "stops release"}),
        ("category-strength", {"guard": "both"}),
        ("category-strength", {"law": ("least_strength_pct_vol + 0.1", INF)}),
    ],
)  # fmt: skip
def test_as_strict_or_stricter_is_nothing(rules, rule, change):
    """A house may ask more than the law, and say why in its own words."""
    assert softened(rules[rule], replace(rules[rule], **change)) is None


def test_every_key_of_a_rule_is_looked_at(rules):
    """A key that a house can change and that nobody compares would be a way round the law: each one of a rule of law is
    either known to say nothing of what is judged, or its change is told."""
    words = {"quantity", "reason", "citation", "to_do", "computation", "causes", "unit", "decimals", "shows",
             "confirmed", "id", "subject", "column", "of_law"}  # fmt: skip
    laxer = {
        "severity": "for information", "where": {"jurisdiction": "XX"}, "where_known": ("product",), "law": (-9, 9),
        "u": "nominal_ml", "guard": "both", "coverage": 9.0, "doubtful": "for information",
        "not_evaluated": "for information", "in_force_from": 1, "in_force_until": 1, "dated": "bottled_at",
        "possible": (0, 1), "in_range": (0, 1), "one_of": ("x",), "equals": "nominal_ml", "present": True,
        "below": True, "required_by": "",
    }  # fmt: skip
    rule = rules["label-strength"]
    # of this rule these changes are stricter, or refused with the book, since it has a limit of law already
    strict = {"guard", "below", "possible", "in_range"}
    strict |= {"not_evaluated"}  # law requires its readings, so what else is said of missing ones counts for nothing

    assert {item.name for item in fields(Rule)} == words | laxer.keys()
    for key, value in laxer.items():
        assert key in strict or softened(rule, replace(rule, **{key: value})), key


def test_rules_that_are_no_law_are_the_houses_own(rules):
    """What cites practice alone may be as lax as the house likes."""
    book = tuple(rules.values())
    house = tuple(
        replace(r, severity="for information") if r.id in ("bottling-loss", "label-strength") else r for r in book
    )

    assert [item.rule for item in softened_rules(book, house)] == ["label-strength"]


def test_who_decides_besides_the_default():
    """The QA lead alone decides, and nobody overrules, unless the profile says otherwise."""
    assert widened(Decisions()) == Decisions((), ())
    assert widened(Decisions(("qa lead", "owner"), ("FW",))) == Decisions(("owner",), ("FW",))
    assert widened(Decisions(("owner",), ())) == Decisions(("owner",), ())
