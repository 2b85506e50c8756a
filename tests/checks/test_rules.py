"""Each rule on hand-made rows: one within, one that fails, one at the limit, one without its value.

The rows are made up unless a comment says otherwise; the limits in them are those of the article that the rule cites.
"""

import polars as pl
import pytest
from rule_cases import (
    BOTTLES,
    CASKS,
    CATEGORIES,
    CURVES,
    DISPATCHES,
    DOUBTFUL,
    NOT_EVALUATED,
    OUT,
    PASSED_OVER,
    RECORDS,
    WITHIN,
)

from gaugebook.checks.evaluation.evaluation import evaluate
from gaugebook.checks.evaluation.prepared import looked_at, prepared

# rule: what all its rows have; then for each row the value compared, or the columns that it has besides, and what the
# rule must answer
CASES = {
    **DISPATCHES,
    # 97.2 % vol: azeotrope at 101.3 kPa (Perry, 4th edition, p. 13-5: 97.19); 3 x 0.1 is allowed
    "strength-possible": ({"highest_strength_pct_vol": 97.2, "u_strength_pct_vol": 0.1}, [
        (96.5, WITHIN), (97.5, WITHIN),
        (97.6, OUT), (-0.1, OUT),
        (None, NOT_EVALUATED), ({"strength_pct_vol": 97.6, "u_strength_pct_vol": None}, NOT_EVALUATED),
    ]),
    "dip-strength-possible": ({"highest_strength_pct_vol": 97.2, "u_strength_pct_vol": 0.1}, [
        (60.0, WITHIN), (97.5, WITHIN), (97.6, OUT), (-0.1, OUT), (None, PASSED_OVER),
        ({"strength_pct_vol": 97.6, "u_strength_pct_vol": None}, NOT_EVALUATED),
    ]),
    "dip-not-computed": ({}, [
        ({"strength_reading": 60.0, "alcohol_l": 10.0}, WITHIN), ({"strength_reading": 60.0, "alcohol_l": None}, OUT),
        ({"strength_reading": None, "alcohol_l": None}, PASSED_OVER),
    ]),
    "strength-reading": ({"direction": "out"}, [
        ({"part": "hearts", "strength_pct_vol": 90.0}, WITHIN), ({"part": "hearts", "strength_pct_vol": 0.0}, WITHIN),
        ({"part": "hearts", "strength_pct_vol": None}, OUT), ({"part": "wash", "strength_pct_vol": None}, PASSED_OVER),
        ({"part": "hearts", "strength_pct_vol": None, "direction": "in"}, PASSED_OVER),
    ]),
    "gauge-not-computed": ({}, [
        ({"strength_reading": 90.0, "alcohol_l": 10.0}, WITHIN), ({"strength_reading": 0.0, "alcohol_l": 0.0}, WITHIN),
        ({"strength_reading": 90.0, "alcohol_l": None}, OUT),
        ({"strength_reading": None, "alcohol_l": None}, PASSED_OVER),
    ]),
    "gauge-against-laboratory": ({"laboratory_strength_pct_vol": 90.0, "allowed_pct_vol": 0.6}, [
        (90.3, WITHIN), (90.6, WITHIN), (89.4, WITHIN),
        (90.7, DOUBTFUL), (89.3, DOUBTFUL),
        (None, NOT_EVALUATED), ({"strength_pct_vol": 90.0, "laboratory_strength_pct_vol": None}, NOT_EVALUATED),
    ]),
    "true-strength": ({"holds": "added"}, [
        ("true", WITHIN), ("estimated", WITHIN), ("apparent", OUT), (None, NOT_EVALUATED),
        ({"strength_is": "apparent", "holds": "cask"}, PASSED_OVER),
    ]),
    "true-strength-little": ({"holds": "stillage"}, [
        ("true", WITHIN), ("estimated", WITHIN), ("apparent", OUT), (None, NOT_EVALUATED),
        ({"strength_is": "apparent", "holds": "cask"}, OUT),
        ({"strength_is": "apparent", "holds": "added"}, PASSED_OVER),
    ]),
    "bottled-strength-true": ({}, [("true", WITHIN), ("apparent", OUT), (None, PASSED_OVER)]),
    # Article 5(b): at least 96.0 % vol
    "neutral-spirit-strength": ({"analyte": "strength", "least": 96.0, "u_value": 0.1}, [
        (96.2, WITHIN), (96.1, DOUBTFUL), (96.0, DOUBTFUL), (95.8, DOUBTFUL), (95.7, OUT), (None, NOT_EVALUATED),
        ({"value": 96.5, "u_value": None}, DOUBTFUL), ({"value": 95.9, "u_value": None}, OUT),
        ({"value": 1.0, "analyte": "methanol"}, PASSED_OVER),
    ]),
    # Annex I, category 9: distilled at less than 86 % vol
    "distillate-strength-limit": (
        {"direction": "out", "part": "hearts", "distilled_below_pct_vol": 86.0, "u_strength_pct_vol": 0.1}, [
            (85.7, WITHIN), (85.8, DOUBTFUL), (86.1, DOUBTFUL), (86.2, OUT),
            (None, NOT_EVALUATED),
            ({"strength_pct_vol": 90.0, "distilled_below_pct_vol": None}, PASSED_OVER),
        ]),
    # Annex I, category 22(a): the distillate contains at least 70 % vol
    "distillate-strength-least": (
        {"direction": "out", "part": "hearts", "stage": "botanical", "distilled_least_pct_vol": 70.0,
         "u_strength_pct_vol": 0.1}, [
            (74.0, WITHIN), (70.2, WITHIN), (69.8, DOUBTFUL), (69.7, OUT),
            (None, NOT_EVALUATED),
        ]),
    # Annex I, category 15: vodka has at least 37.5 % vol
    # a result at the limit is taken as it is, so that what is labelled at it can be right (JCGM 106, 8.2)
    "category-strength": (
        {"jurisdiction": "EU", "least_strength_pct_vol": 37.5, "u_laboratory_strength_pct_vol": 0.1}, [
        (40.0, WITHIN), (37.6, WITHIN), (37.5, WITHIN),
        (37.4, DOUBTFUL), (37.3, DOUBTFUL),
        ({"laboratory_strength_pct_vol": 30.0, "jurisdiction": "US"}, PASSED_OVER),
        ({"laboratory_strength_pct_vol": 37.6, "u_laboratory_strength_pct_vol": None}, WITHIN),
        ({"laboratory_strength_pct_vol": 37.4, "u_laboratory_strength_pct_vol": None}, OUT),
        (37.2, OUT), (None, NOT_EVALUATED),
        ({"laboratory_strength_pct_vol": 10.0, "least_strength_pct_vol": None}, PASSED_OVER),
    ]),
    "category-label-strength": ({"least_strength_pct_vol": 37.5}, [
        (40.0, WITHIN), (37.5, WITHIN),
        (37.4, OUT), (None, NOT_EVALUATED),
    ]),
    "category-known": ({"jurisdiction_held": "EU"}, [
        ("an article", WITHIN), (None, OUT), ({"category_citation": None, "jurisdiction_held": None}, PASSED_OVER),
    ]),
    "jurisdiction-known": ({"product_in_profile": "GIN"}, [
        ("EU", WITHIN), (None, OUT), ({"jurisdiction_held": None, "product_in_profile": None}, PASSED_OVER),
    ]),
    # Regulation (EU) 1169/2011, Annex XII: 0.3 % vol, and 1.5 % vol with macerated fruit, beside the method's own
    "label-strength": ({"jurisdiction": "EU", "tolerance_pct_vol": 0.3, "u_laboratory_strength_pct_vol": 0.05}, [
        (0.1, WITHIN), (40.1 - 39.8, WITHIN),
        (-0.3, WITHIN), (0.4, DOUBTFUL),
        (-0.5, OUT), (0.5, OUT),
        ({"label_deviation_pct_vol": 1.5, "tolerance_pct_vol": 1.5}, WITHIN),
        ({"label_deviation_pct_vol": 1.7, "tolerance_pct_vol": 1.5}, OUT),
        ({"label_deviation_pct_vol": 0.31, "u_laboratory_strength_pct_vol": None}, OUT),
        ({"label_deviation_pct_vol": 0.3, "u_laboratory_strength_pct_vol": None}, WITHIN),
        (None, NOT_EVALUATED),
        ({"label_deviation_pct_vol": 9.0, "jurisdiction": "US"}, PASSED_OVER),
    ]),
    # 27 CFR 19.356(d): labelled 40 %, acceptable where the test finds no less than 39.7 and no more than 40.3 %
    "label-strength-us": ({"jurisdiction": "US", "tolerance_pct_vol": 0.3, "u_laboratory_strength_pct_vol": 0.05}, [
        (39.7 - 40.0, WITHIN), (40.3 - 40.0, WITHIN), (0.0, WITHIN), (39.69 - 40.0, OUT), (40.31 - 40.0, OUT),
        ({"label_deviation_pct_vol": 0.3, "u_laboratory_strength_pct_vol": None}, WITHIN),
        (None, NOT_EVALUATED), ({"label_deviation_pct_vol": 9.0, "jurisdiction": "EU"}, PASSED_OVER),
    ]),
    "laboratory-complete": ({}, [(2, WITHIN), (1, WITHIN), (None, OUT)]),
    # Regulation (EC) 2870/2000: r about 0.2 % vol by densimeter (from memory)
    "laboratory-duplicates": ({"allowed_spread": 0.2}, [
        (0.1, WITHIN), (40.2 - 40.0, WITHIN), (0.9, DOUBTFUL),
        (None, NOT_EVALUATED),
    ]),
    # Annex I, category 9: apple spirit at most 1200 g/hl of 100 % vol alcohol
    "methanol-limit": ({"analyte": "methanol", "most": 1200.0, "u_value": 10.0}, [
        (900.0, WITHIN), (1180.0, WITHIN), (1190.0, DOUBTFUL),
        (1200.0, DOUBTFUL), (1200.1, OUT), (None, NOT_EVALUATED),
        ({"value": 900.0, "u_value": None}, DOUBTFUL), ({"value": 1200.1, "u_value": None}, OUT),
        ({"value": 1300.0, "most": None}, PASSED_OVER), ({"value": 1300.0, "analyte": "furfural"}, PASSED_OVER),
    ]),
    # Annex I, category 9: volatile substances at least 200 g/hl of 100 % vol alcohol
    "volatile-substances": ({"analyte": "volatile_substances", "least": 200.0, "u_value": 2.0}, [
        (300.0, WITHIN), (204.0, WITHIN), (203.9, DOUBTFUL), (196.0, DOUBTFUL), (195.9, OUT), (None, NOT_EVALUATED),
    ]),
    # Annex I, category 9: stone fruit, hydrocyanic acid at most 7 g/hl of 100 % vol alcohol
    "hydrocyanic-acid-limit": ({"analyte": "hydrocyanic_acid", "most": 7.0, "u_value": 0.5}, [
        (1.0, WITHIN), (6.0, WITHIN), (6.1, DOUBTFUL), (7.0, DOUBTFUL), (7.1, OUT), (None, NOT_EVALUATED),
    ]),
    # Annex I, category 15: vodka at most 8 g/l; category 33: liqueur at least 100 g/l
    "sweetening-limit": ({"analyte": "sweetening", "most": 8.0}, [
        (0.0, WITHIN), (8.0, WITHIN), (8.1, OUT), (None, NOT_EVALUATED),
    ]),
    "sweetening-least": ({"analyte": "sweetening", "least": 100.0}, [
        (250.0, WITHIN), (100.0, WITHIN), (99.0, OUT), (None, NOT_EVALUATED),
    ]),
    # Annex I, category 24: akvavit at most 1.5 g of dry extract per 100 ml
    "dry-extract-limit": ({"analyte": "dry_extract", "most": 15.0}, [
        (0.2, WITHIN), (15.0, WITHIN), (15.1, OUT), (None, NOT_EVALUATED),
    ]),
    # Article 5(d): methanol at most 30 g/hl of 100 % vol alcohol
    "neutral-spirit-residues": ({"analyte": "methanol", "most": 30.0, "u_value": 0.5}, [
        (2.0, WITHIN), (29.0, WITHIN), (29.1, DOUBTFUL), (31.0, DOUBTFUL), (31.1, OUT),
        (None, NOT_EVALUATED), ({"value": 96.3, "analyte": "strength"}, PASSED_OVER),
    ]),
    "panel": ({}, [
        (0.5, WITHIN), (0.05, WITHIN), (0.04, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "mash-yield": ({"u_yield_ratio": 0.01}, [
        (1.0, WITHIN), (0.93, WITHIN), (0.88, DOUBTFUL),
        (1.1, DOUBTFUL), (1.2, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "attenuation": ({}, [
        (1.0, WITHIN), (0.7, WITHIN),
        (0.6, DOUBTFUL), (1.4, OUT),
        (None, NOT_EVALUATED),
    ]),
    "fermentation-efficiency": ({"u_fermentation_efficiency": 0.01}, [
        (0.9, WITHIN), (1.03, WITHIN),
        (1.04, OUT), (None, NOT_EVALUATED),
    ]),
    "wash-strength": ({}, [
        (10.0, WITHIN), (4.0, WITHIN),
        (3.0, DOUBTFUL), (25.0, OUT),
        (None, NOT_EVALUATED),
    ]),
    "recovery-possible": ({"alcohol_in_l": 100.0, "u_loss_l": 0.5}, [
        (99.0, WITHIN), (101.0, WITHIN), (101.2, DOUBTFUL),
        (101.5, DOUBTFUL), (101.6, OUT), (None, NOT_EVALUATED),
        ({"alcohol_out_l": 101.6, "u_loss_l": None}, NOT_EVALUATED),
    ]),
    "run-closure": ({"alcohol_in_l": 100.0, "u_closure": 0.01}, [
        (0.99, WITHIN), (0.94, WITHIN), (0.93, DOUBTFUL),
        (None, NOT_EVALUATED), ({"closure": 0.5, "alcohol_in_l": None}, PASSED_OVER),
    ]),
    "strip-recovery": ({"stage": "strip", "u_recovery": 0.01}, [
        (0.96, WITHIN), (0.885, WITHIN), (0.88, DOUBTFUL), (1.04, OUT),
        (None, NOT_EVALUATED), ({"recovery": 0.5, "stage": "rectify"}, PASSED_OVER),
    ]),
    "strip-recovery-drift": ({}, [
        (0, WITHIN), (8, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "rectify-recovery": ({"stage": "rectify", "u_recovery": 0.01}, [
        (0.9, WITHIN), (0.75, WITHIN), (0.74, DOUBTFUL), (1.04, OUT),
        (None, NOT_EVALUATED),
    ]),
    "charge-capacity": ({"stage": "strip", "capacity_l": 2800.0}, [
        (2500.0, WITHIN), (2800.0, WITHIN), (2801.0, OUT),
        (None, NOT_EVALUATED), ({"volume_in_l": 3000.0, "capacity_l": None}, PASSED_OVER),
    ]),
    "lot-unknown": ({}, [
        ("received", WITHIN), ("produced", WITHIN), ("unknown", OUT),
        (None, NOT_EVALUATED),
    ]),
    "lot-overdrawn": ({"most_drawn": 100.0, "u_balance": 0.5, "quantity_in": 100.0, "is_counted": "yes"}, [
        (50.0, WITHIN), (100.5, WITHIN), (100.6, DOUBTFUL), (101.0, DOUBTFUL), (101.1, OUT),
        (None, NOT_EVALUATED), ({"quantity_out": 200.0, "is_counted": None}, PASSED_OVER),
        ({"quantity_out": 200.0, "quantity_in": None}, PASSED_OVER),  # lot-quantity-known asks for it
    ]),
    "lot-quantity-known": ({"has_opening": "yes"}, [
        (0.5, WITHIN), (None, OUT), ({"quantity_in": None, "has_opening": None}, PASSED_OVER),
    ]),
    "lot-one-origin": ({}, [
        (0.0, WITHIN), (1.0, WITHIN),
        (2.0, OUT), (None, PASSED_OVER),
    ]),
    "lot-drawn-before-made": ({}, [
        (-24.0, WITHIN), (0.0, WITHIN),
        (0.5, OUT), (None, PASSED_OVER),
    ]),
    "lot-in-date": ({}, [
        (-30.0, WITHIN), (0.0, WITHIN),
        (1.0, DOUBTFUL), (None, PASSED_OVER),
    ]),
    "dip-against-book": ({"book_alcohol_l": 100.0, "u_difference_l": 1.0}, [
        (101.0, WITHIN), (104.0, WITHIN), (95.0, DOUBTFUL),
        (None, NOT_EVALUATED),
    ]),
    "botanical-quantity": ({"recipe_g_per_lpa": 28.0}, [
        (1.01, WITHIN), (0.9, WITHIN), (1.1, WITHIN), (0.5, OUT),
        (None, NOT_EVALUATED), ({"ratio": None, "recipe_g_per_lpa": None}, PASSED_OVER),
    ]),
    "botanical-condition": ({"recipe_condition": "fresh"}, [
        ("fresh", WITHIN), ("dried", OUT), (None, NOT_EVALUATED),
        ({"condition": "dried", "recipe_condition": None}, PASSED_OVER),
    ]),
    "botanical-listed": ({}, [("juniper berry", WITHIN), (None, OUT)]),
    "recipe-quantity": ({"looked_at_in": "bills", "recipe_quantity": 0.75}, [
        (1.0, WITHIN), (1.1, WITHIN), (1.11, OUT), (0.89, OUT), (0.0, OUT), (None, NOT_EVALUATED),
        ({"ratio": None, "recipe_quantity": None}, PASSED_OVER),
        ({"ratio": 0.5, "looked_at_in": "botanicals"}, PASSED_OVER),
    ]),
    "recipe-charged": ({"in_recipe": "rye malt", "asked_quantity": "any"}, [
        ("MALT-1", WITHIN), (None, OUT),
        ({"charged": None, "in_recipe": None}, PASSED_OVER),
        ({"charged": None, "asked_quantity": "measured"}, PASSED_OVER),
    ]),
    "recipe-condition": ({"stage": "blend", "recipe_condition": "fresh", "charged": "L-1"}, [
        ("fresh", WITHIN), ("dried", OUT), (None, NOT_EVALUATED),
        ({"condition": "dried", "stage": "steep"}, PASSED_OVER), ({"condition": None, "charged": None}, PASSED_OVER),
    ]),
    "recipe-listed": ({"stage": "mash"}, [
        ("rye malt", WITHIN), (None, OUT), ({"in_recipe": None, "stage": "steep"}, PASSED_OVER),
    ]),
    "recipe-known": ({}, [("gin", WITHIN), (None, OUT)]),
    "steep-time": ({"stage": "steep", "steep_days": 7.0}, [
        (7.0, WITHIN), (6.5, WITHIN), (4.0, DOUBTFUL), (8.0, DOUBTFUL),
        (None, NOT_EVALUATED), ({"days": 0.3, "stage": "botanical", "steep_days": None}, PASSED_OVER),
    ]),
    "charge-strength": ({"recipe_strength_pct_vol": 50.0}, [
        (50.4, WITHIN), (52.0, WITHIN),
        (55.0, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    **BOTTLES,
    **CATEGORIES,
    "log-missing": ({"stage": "strip", "log_interval_s": 60.0}, [
        (5, WITHIN), (None, OUT), ({"logged_tags": None, "log_interval_s": None}, PASSED_OVER),
    ]),
    "log-stuck-sensor": ({"kind": "temperature", "usual_stuck_min": 5.0}, [
        (5.0, WITHIN), (45.0, WITHIN), (120.0, DOUBTFUL),
        (None, NOT_EVALUATED), ({"longest_stuck_min": 300.0, "kind": "other"}, PASSED_OVER),
    ]),
    "log-clock": ({}, [
        (2.0, WITHIN), (-20.0, WITHIN), (60.0, DOUBTFUL),
        (-60.0, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "log-gap": ({"interval_min": 1.0}, [
        (1.0, WITHIN), (10.0, WITHIN), (11.0, DOUBTFUL),
        (None, NOT_EVALUATED),
    ]),
    "log-points": ({"interval_min": 1.0}, [
        (1.0, WITHIN), (0.9, WITHIN), (0.5, DOUBTFUL),
        (None, NOT_EVALUATED),
    ]),
    "still-overlap": ({}, [(0.0, WITHIN), (1.0, OUT), (None, NOT_EVALUATED)]),
    "run-ended-before-started": ({"ended_at": "2031-01-01 06:00"}, [
        (6.0, WITHIN), (0.0, WITHIN), (-1.0, OUT), (None, NOT_EVALUATED),
        ({"hours": None, "ended_at": None}, PASSED_OVER),
    ]),
    "run-open": ({}, [("2031-01-01 06:00", WITHIN), (None, OUT)]),
    "people-known": ({"operator": "AQ"}, [
        ("AQ", WITHIN), (None, OUT),
        ({"operator_in_profile": None, "operator": None}, PASSED_OVER),
    ]),
    "instrument-in-date": ({}, [
        (0, WITHIN), (1, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "instrument-known": ({}, [("HYD-1", WITHIN), (None, OUT)]),
    # 27 CFR 5.142(b): vodka up to 1 g/L of citric acid
    "citric-acid-limit": ({"analyte": "citric_acid", "most": 1.0}, [
        (0.5, WITHIN), (1.0, WITHIN), (1.01, OUT), (None, NOT_EVALUATED),
    ]),
    # Regulation (EC) 2870/2000: R about 0.4 % vol by densimeter (from memory)
    "methods-agree": ({"allowed_apart": 0.4}, [
        (0.1, WITHIN), (40.4 - 40.0, WITHIN), (0.5, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
    "laboratory-in-order": ({}, [(-3.0, WITHIN), (0.0, WITHIN), (0.1, OUT), (None, PASSED_OVER)]),
    "laboratory-signed": ({}, [("DL", WITHIN), (None, OUT)]),
    "analysts-known": ({}, [("true", WITHIN), ("false", OUT), (None, NOT_EVALUATED)]),
    **RECORDS,
    **CASKS, **CURVES,
    "changed-after-decision": ({"decided_data": "1a2b3c4d"}, [
        ("1a2b3c4d", WITHIN), ("5e6f7a8b", OUT), (None, NOT_EVALUATED),
    ]),
    "calibration-error": ({"u_instrument": 0.15}, [
        (0.1, WITHIN), (0.45, WITHIN), (-0.5, DOUBTFUL), (None, NOT_EVALUATED),
    ]),
}  # fmt: skip


def columns_of_row(rule, common, row):
    """A case as a row: the value compared alone stands for itself."""
    return common | (row if isinstance(row, dict) else {rule.column: row})


def frame_of(rule, schema, common, rows):
    """The cases of a rule as rows of its subject."""
    given = [{"record": f"row {n}"} | columns_of_row(rule, common, row) for n, (row, _) in enumerate(rows)]
    frame = pl.DataFrame(given, infer_schema_length=None)
    times = [name for name in frame.columns if schema[name] == pl.Datetime("us")]
    frame = frame.with_columns(pl.col(times).cast(pl.String).str.to_datetime()) if times else frame
    missing = [pl.lit(None, kind).alias(name) for name, kind in schema.items() if name not in frame.columns]
    return frame.with_columns(missing).select(pl.col(name).cast(kind) for name, kind in schema.items())


@pytest.fixture(scope="module")
def answered(rules, empty_frames):
    """Rule -> what it answers to each of its cases, and how many of them it looks at. All are judged in one go; what
    other rules of the subject answer to a rule's cases is not asked."""
    frames, places = {}, {}
    for rule_id, (common, rows) in CASES.items():
        subject = rules[rule_id].subject
        frame = frame_of(rules[rule_id], empty_frames[subject].schema, common, rows)
        before = frames.get(subject, empty_frames[subject])
        places[rule_id] = (frame, len(before))
        frames[subject] = pl.concat([before, frame])
    answers, _ = evaluate(list(rules.values()), empty_frames | frames)
    given = {(rule, row): answer for rule, row, answer in answers.rows()}
    return {
        rule_id: (
            [given.get((rule_id, start + n), WITHIN) for n in range(len(frame))],
            looked_at(prepared(frame, [rules[rule_id]]), [rules[rule_id]])[rule_id],
        )
        for rule_id, (frame, start) in places.items()
    }


@pytest.mark.parametrize("rule_id", CASES)
def test_a_rule_answers_each_case(answered, rule_id):
    """Within, failing, at the limit and without its value, the rule answers as it should and counts its records."""
    _, rows = CASES[rule_id]

    given, concerned = answered[rule_id]

    assert given == [WITHIN if expected == PASSED_OVER else expected for _, expected in rows]
    assert concerned == sum(expected != PASSED_OVER for _, expected in rows)


def test_every_rule_has_its_cases(rules):
    """No rule of the book goes untried, and each is tried on a row that passes and on one that does not."""
    assert set(CASES) == set(rules)
    for _, rows in CASES.values():
        expected = {answer for _, answer in rows}
        assert WITHIN in expected
        assert expected & {DOUBTFUL, OUT}


def test_a_missing_value_is_never_within(rules):
    """Each rule is tried on a row without its value, and none calls that within."""
    for rule_id, (common, rows) in CASES.items():
        rule = rules[rule_id]
        missing = [answer for row, answer in rows if columns_of_row(rule, common, row).get(rule.column) is None]

        assert missing, rule_id
        assert WITHIN not in missing, rule_id
