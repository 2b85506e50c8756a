"""What the rules answer of the oracle house: every flag in every column, the counts, the standing of the batch.

Words that a rule always says (reason, citation, quantity, unit) are those of its entry in the rule book's files;
what it says of this house (value, limits, sentence, place) is typed here.
"""

import tomllib
from collections import Counter
from datetime import datetime
from pathlib import Path
from typing import Any

import duckdb

from tests.oracle.book_by_hand import NO_STRENGTH, BookByHand
from tests.oracle.expectation import Row, agree, covers, expect, in_book

covers("flagged.flags", "flag")
covers("flagged.batch_flags", "batch", "flag")
covers("flagged.rule_counts", "rule", "subject", "records", "within", "doubtful", "out", "not_evaluated")

OUT, DOUBTFUL, UNKNOWN = "out", "doubtful", "not evaluated"
STOPS, EXPLAIN, INFORM = "stops release", "needs explanation", "for information"
LEMON = "run BOT-1, lemon peel"
REC_T = "tails lot REC-1-T out of run REC-1"
MORE = "(3.20 g/LPA against 6.50, lots LEM-1)"  # 560 g / 175.191 LPA = 3.197, asked 6.5: 0.4918
# Directive 76/211/EEC, annex II: 501 to 3200
PLAN = "(for 692 bottles the reference test asks a sample of 50, and 5 were measured)"
REC_1 = "(not gauged: tails REC-1-T)"


def rulebook() -> dict[str, dict[str, Any]]:
    """Entries of the rule book's files, by id."""
    folder = Path(__file__).parents[2] / "gaugebook" / "checks" / "rules"
    files = [tomllib.loads(path.read_text(encoding="utf-8")) for path in sorted(folder.glob("*.toml"))]
    return {rule["id"]: rule for file in files for rule in file["rules"]}


def flags() -> list[Row]:
    """Rule, record, (run, lot, batch, equipment), answer, severity, value, limits, what the sentence says after
    the record, place."""
    lines: list[tuple[Any, ...]] = [
        # 98.9 on glass at 19.5 °C is 98.99 % vol; the azeotrope, 95.58 % by mass (Perry), is 97.19; 3 x 0.174 = 0.52
        ("strength-possible", "heads lot REC-1-H out of run REC-1", ("REC-1", "REC-1-H", None, "R1"), OUT, EXPLAIN,
        "99.0",
         "0.0 to 97.2", "strength at 20 °C is 99.0 % vol; allowed is 0.0 to 97.2, with 0.5 allowed for uncertainty.",
         "gauges.csv", 14),
        ("strength-possible", REC_T, ("REC-1", "REC-1-T", None, "R1"), UNKNOWN, INFORM, None, "0.0 to 97.2",
         f"strength at 20 °C could not be judged, since strength and uncertainty of strength are not known "
         f"({NO_STRENGTH}).", "gauges.csv", 16),
        ("strength-reading", REC_T, ("REC-1", "REC-1-T", None, "R1"), OUT, EXPLAIN, None, "on record",
         f"strength reading is missing ({NO_STRENGTH}).", "gauges.csv", 16),
        ("true-strength-little", "lot OLD-1", (None, "OLD-1", None, None), OUT, INFORM, "apparent", "true or estimated",
         "strength is apparent; expected true or estimated (extract from cask, 64.08 % vol as booked, 1 gauge "
         "apparent).", "dips.csv", 4),
        ("laboratory-complete", "batch GIN-A, methanol", (None, None, "GIN-A", None), OUT, STOPS, None, "on record",
         "required laboratory result is missing.", "bottling.csv", 2),
        ("run-closure", "run REC-1", ("REC-1", None, None, "R1"), UNKNOWN, INFORM, None, "0.970 or more",
         f"alcohol out against alcohol in could not be judged, since closure and uncertainty of closure are not "
         f"known {REC_1}.", "runs.csv", 5),
        ("strip-recovery-drift", "still S1", (None, None, None, "S1"), UNKNOWN, INFORM, None, "0 or less",
         "runs in a row with low stripping recovery could not be judged, since runs low is not known (1 runs, a "
         "baseline needs 20 and a "
         "signal 8 more).", None, None),
        ("botanical-quantity", LEMON, ("BOT-1", None, None, "G1"), OUT, STOPS, "0.49", "0.90 to 1.10",
         f"charged against the recipe is 0.49 g per g; allowed is 0.90 to 1.10 {MORE}.", "balance.csv", 4),
        ("botanical-condition", LEMON, ("BOT-1", None, None, "G1"), OUT, EXPLAIN, "dried", "fresh",
         f"condition is dried; expected fresh {MORE}.", "balance.csv", 4),
        ("fill-average", "batch GIN-A", ("PAK-1", None, "GIN-A", None), UNKNOWN, EXPLAIN, None, None,
         f"mean net content could not be judged, since least fill mean is not known {PLAN}.", "bottling.csv", 2),
        ("fill-tolerable-error", "batch GIN-A", ("PAK-1", None, "GIN-A", None), UNKNOWN, EXPLAIN, None, None,
         "sampled bottles short by more than the tolerable negative error could not be judged, since rejected below "
         "tne and accepted "
         f"below tne are not known {PLAN}.", "bottling.csv", 2),
        ("log-missing", "run REC-1", ("REC-1", None, None, "R1"), OUT, EXPLAIN, None, "on record",
        f"log of the run is missing {REC_1}.", "runs.csv", 5),
        ("log-missing", "run BOT-1", ("BOT-1", None, None, "G1"), OUT, EXPLAIN, None, "on record",
        "log of the run is missing.", "runs.csv", 6),
        ("run-without-band", "run STR-1, its curve", ("STR-1", None, None, "S1"), DOUBTFUL, INFORM, "0", "8 or more",
         "good runs to compare with is 0; in range is 8 or more.", "runs.csv", 4),
        # due on 15 March: after it three receivers, DIST-1 drawn, BLEND-1, PROOF-1 and two dips were read by it
        ("instrument-in-date", "instrument HYD-1", (None, None, None, "HYD-1"), DOUBTFUL, INFORM, "8", "0 or less",
        None, None, None),
    ]  # fmt: skip
    for tag in ("parrot_strength_pct_vol", "parrot_temperature_c"):  # 250 of 331 minutes: 0.755
        lines.append((
            "log-points", f"run STR-1, {tag}", ("STR-1", None, None, "S1"), DOUBTFUL, INFORM, "0.76", "0.90 or more",
            "share of the expected points that is there is 0.76 fraction; in range is 0.90 or more.", "runs.csv", 4,
        ))  # fmt: skip
    for instrument, readings in (
        ("BAL-1", 3),
        ("DM-1", 2),
        ("GC-1", 2),
    ):  # three botanicals, HRT-1 out and in, two congeners
        lines.append((
            "instrument-in-date", f"instrument {instrument}", (None, None, None, instrument), UNKNOWN, INFORM, None,
            "0 or less",
            f"readings taken after the calibration had run out could not be judged, since readings overdue is not "
            f"known (of {readings} readings).",
            None, None,
        ))  # fmt: skip
    rules, rows = rulebook(), []
    for rule, record, (run, lot, batch, equipment), answer, severity, value, limits, says, file, line in lines:
        entry = rules[rule]
        row = {
            "rule": rule, "record": record, "subject": entry["subject"], "run": run, "lot": lot, "batch": batch,
            "equipment": equipment, "answer": answer, "severity": severity, "quantity": entry["quantity"],
            "value": value,
            "limits": limits, "unit": entry.get("unit", ""), "reason": entry["reason"], "citation": entry["citation"],
            "source_id": file, "line": line,
        }  # fmt: skip
        if says:
            row["message"] = f"{record[0].upper()}{record[1:]}: {says}"
        rows.append(row)
    return rows


@expect("flagged.flags", "rule", "record")
def test_flags(by_hand: BookByHand) -> list[Row]:
    """Every flag there is, and no other: what was planted (the impossible strength of REC-1-H, dried peel at half
    its weight, the missing strength and the missing methanol, too few fills) and what such a small house cannot
    show."""
    return flags()


def test_names_of_flags(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """Each flag has a short name of its own; that of the lemon peel's condition is the one that was explained, in
    every book."""
    names = {(row["rule"], row["record"]): row["flag"] for row in in_book(oracle_book, "flagged.flags")}
    assert len(set(names.values())) == len(names) == 20
    assert names["botanical-condition", LEMON] == "F-0458e9ea"


def test_readings_of_an_instrument(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """HYD-1 read STR-1's heads and tails, REC-1's heads and NS-1, BOT-1's heads, hearts and tails, DIST-1 drawn,
    BLEND-1, PROOF-1 (10), two dips (12) and OLD-1 of the opening inventory: 13."""
    (row,) = in_book(oracle_book, "flagged.flags", "record = 'instrument HYD-1'")
    assert row["message"] == (
        "Instrument HYD-1: readings taken after the calibration had run out is 8 readings; in range is 0 or less "
        "(of 13 readings, first on 2026-03-20)."
    )


BEFORE_THE_BATCH = [row for row in flags() if row["record"] not in (
    "lot OLD-1", "still S1", "instrument HYD-1", "instrument BAL-1", "instrument DM-1", "instrument GC-1")]  # fmt: skip


def named(oracle_book: duckdb.DuckDBPyConnection, rows: list[Row]) -> set[str]:
    """Names of flags in the book."""
    names = {(row["rule"], row["record"]): row["flag"] for row in in_book(oracle_book, "flagged.flags")}
    return {names[row["rule"], row["record"]] for row in rows}


def test_flags_before_the_batch(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """All runs stand behind GIN-A; OLD-1 does not, nor do instruments and stills by themselves. 20 - 6 = 14."""
    found = in_book(oracle_book, "flagged.batch_flags")
    assert {row["batch"] for row in found} == {"GIN-A"}
    assert {row["flag"] for row in found} == named(oracle_book, BEFORE_THE_BATCH)
    assert len(found) == 14


@expect("flagged.standings", "batch")
def test_standings(by_hand: BookByHand) -> list[Row]:
    """Two stop it (lemon peel's weight, methanol). Seven need an explanation, less the one that has it: 6. Five
    are for information: REC-1-T's strength, REC-1's closure, both parrot tags, no band."""
    severity = Counter(row["severity"] for row in BEFORE_THE_BATCH)
    assert severity == {STOPS: 2, EXPLAIN: 7, INFORM: 5}
    return [{
        "batch": "GIN-A", "product": "GIN", "bottled_at": datetime(2026, 3, 26, 14), "standing": "stopped",
        "stops_release": 2,
        "needs_explanation": 6, "for_information": 5,
    }]  # fmt: skip


# How many records a rule looks at, where that can be told from the files: one batch, eight runs, six that handle
# alcohol, three stills ...
RECORDS = {
    **dict.fromkeys(("bottled-strength-true", "category-strength", "category-label-strength", "category-known",
    "label-strength",
                     "label-as-product", "product-known", "jurisdiction-known", "bottling-loss", "bottle-rejects",
                     "bottling-signed",
                     "nominal-volume-from-memory", "fill-average", "fill-tolerable-error",
                     "fill-twice-error"), 1),
    **dict.fromkeys(("nominal-volume", "fill-average-us", "label-strength-us", "fill-variation",
    "fill-balance", "filter-strength", "filter-loss",
    "steep-time",
                     "methanol-limit", "citric-acid-limit", "hydrocyanic-acid-limit", "lot-in-date", "run-in-band"), 0),
    **dict.fromkeys(("run-ended-before-started", "run-open", "people-known", "run-signed", "run-gauged-in",
    "run-gauged-out"), 8),
    **dict.fromkeys(("recovery-possible", "run-closure"), 6), **dict.fromkeys(("charge-capacity", "log-missing",
    "still-overlap"), 3),
    **dict.fromkeys(("mash-yield", "attenuation", "fermentation-efficiency", "wash-strength", "strip-recovery",
    "rectify-recovery",
                     "reduction-predicted", "charge-strength", "strip-recovery-drift", "panel",
                     "laboratory-duplicates"), 1),
    **dict.fromkeys(("botanical-quantity", "botanical-condition", "botanical-listed", "dip-against-book"), 3),
    **dict.fromkeys(("log-gap", "log-points"), 7), **dict.fromkeys(("lot-unknown", "lot-one-origin"), 27),
    **dict.fromkeys(("recipe-quantity", "recipe-listed", "recipe-known", "calibration-error", "laboratory-complete"),
    2),
    "laboratory-signed": 4, "analysts-known": 4, "instrument-in-date": 5, "instrument-known": 5, "log-clock": 1,
    "lot-overdrawn": 26,  # all but REC-1-T, of which nobody knows what it held
}  # fmt: skip


def test_counts(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """A rule's answers are its flags, the rest of what it looked at is within; a rule that looked at nothing says 0."""
    rules, answers = rulebook(), Counter((row["rule"], row["answer"]) for row in flags())
    rows = []
    for found in in_book(oracle_book, "flagged.rule_counts"):
        rule = found["rule"]
        records = RECORDS.get(rule, found["records"])
        flagged = [answers[rule, answer] for answer in (DOUBTFUL, OUT, UNKNOWN)]
        rows.append({
            "rule": rule, "subject": rules[rule]["subject"], "records": records, "within": records - sum(flagged),
            "doubtful": flagged[0], "out": flagged[1], "not_evaluated": flagged[2],
        })  # fmt: skip
    assert {row["rule"] for row in rows} == rules.keys()
    assert all(row["within"] >= 0 for row in rows)
    agree(oracle_book, "flagged.rule_counts", ("rule",), rows, {}, "true")


# What a rule compares with, as a reader sees it: some of each sort.
COMPARED = {
    "strength-possible": "possible 0.0 to highest_strength_pct_vol + 3 u_strength_pct_vol",
    "strength-reading": "on record",
    "botanical-condition": "equal to recipe condition",
    "botanical-quantity": "possible 0.9 to 1.1",
    "true-strength": "true or estimated",
    "mash-yield": "in range 0.93 to 1.07",
    "label-strength": "the law's -tolerance_pct_vol to tolerance_pct_vol; 2 u_laboratory_strength_pct_vol as guard "
    "band, "
    "beyond the limit",
    "label-strength-us": "the law's -tolerance_pct_vol to tolerance_pct_vol; no guard band",
    "neutral-spirit-strength": "the law's least or more; 2 u_value as guard band, on both sides of the limit",
    "methanol-limit": "the law's most or less; 2 u_value as guard band, inside the limit",
    "fill-twice-error": "possible 0 or less",
}


@expect("flagged.rules", "rule")
def test_rules(by_hand: BookByHand) -> list[Row]:
    """The rule book in force is that of the files: the house changed nothing, so nothing of law is softened."""
    return [
        {
            "rule": rule, "subject": entry["subject"], "quantity": entry["quantity"], "unit": entry.get("unit",
            "") or None,
            "severity": entry["severity"], "citation": entry["citation"], "by_house": False,
            "of_law": entry.get("of_law", False),
            "softened": None, "softened_by": None, **({"compared": COMPARED[rule]} if rule in COMPARED else {}),
        }
        for rule, entry in rulebook().items()
    ]  # fmt: skip
