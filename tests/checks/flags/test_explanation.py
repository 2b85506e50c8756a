"""Every flag of the demo can be told in full: its numbers, and file and line of what they were made from."""

import polars as pl
import pytest

from gaugebook.checks.flags import explanation as explanation_module
from gaugebook.checks.flags.explanation import INPUTS, explanation
from gaugebook.checks.flags.flags import flag_name
from gaugebook.checks.run import effective_rules, run_checks
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import UnknownRecord


@pytest.fixture(scope="module")
def told(sample_book):
    """What there is to tell of each flag that stops a release or needs explanation."""
    with open_book(sample_book) as book:
        rules, frames = effective_rules(book)
        names = book.frame("SELECT flag FROM flagged.flags WHERE severity <> 'for information' ORDER BY rule, record")
        return [explanation(book, name, rules, frames) for name in names["flag"]]


def of_rule(told, rule):
    return [one for one in told if one["flag"]["rule"] == rule]


def test_each_subject_has_its_inputs(empty_frames):
    """No subject is left without the kinds of record that it is made from."""
    assert set(INPUTS) == set(empty_frames)


def test_every_flag_names_file_and_line_of_its_inputs(told):
    """At least one record each, every one with its place; the place on the flag itself is among them."""
    assert told
    for one in told:
        places = [given["place"] for given in one["inputs"]]
        assert places and all(place and place.rpartition(":")[2].isdigit() for place in places), one["flag"]["message"]


def test_every_flag_has_its_numbers_and_words(told):
    """The value compared is among the numbers, and rule, computation and causes are told."""
    for one in told:
        assert one["numbers"], one["flag"]["message"]
        assert all(one["rule"][key] for key in ("computation", "causes", "to_do", "reason", "citation", "with_what"))
        assert [event["happened"] for event in one["history"]] == ["opened"]


def test_a_methanol_flag_has_value_limit_and_uncertainty(told):
    """As in the file: 1298 g/hL of pure alcohol; limit 1200 (Annex I, category 9); the chromatograph's 0.01 and 2 %."""
    (methanol,) = of_rule(told, "methanol-limit")

    assert methanol["numbers"] == {
        "value": 1298.0,
        "most": 1200.0,
        "standard uncertainty of value": pytest.approx(25.96, abs=0.01),
    }
    assert [given["what"] for given in methanol["inputs"]] == ["methanol of lot PROOF-2610-04: 1298 g/hL pa"]
    assert methanol["inputs"][0]["place"].startswith("gc_2026-10.xlsx, sheet ")


def test_short_fills_are_told_by_their_fills(told):
    """A rule on fills rests on the bottling record and each sampled bottle, and on nothing else."""
    (fills,) = of_rule(told, "fill-average")

    kinds = {given["what"].split()[0] for given in fills["inputs"]}
    assert kinds == {"bottling", "fill"}
    assert len(fills["inputs"]) == 51


def test_results_are_narrowed_by_the_analyte_and_not_by_words(sample_book):
    """Of a lot with several results those of the analyte are named, or all where none is of it or none is meant."""
    sql = (explanation_module.HERE / "inputs.sql").read_text(encoding="utf-8")
    lot = "SELECT lot FROM typed.laboratory GROUP BY lot ORDER BY count(DISTINCT analyte) DESC, lot LIMIT 1"
    with open_book(sample_book) as book:
        asked = {"run": None, "lot": book.value(lot), "batch": None, "equipment": None, "kinds": ["laboratory"]}
        analytes = book.frame("SELECT DISTINCT analyte FROM typed.laboratory WHERE lot = ?", [asked["lot"]])["analyte"]

        def named(analyte):
            return [what.split(" of lot ")[0] for what in book.frame(sql, asked | {"analyte": analyte})["what"]]

        everything = named(None)
        assert len(analytes) > 2
        assert set(everything) == {analyte.replace("_", " ") for analyte in analytes}
        for analyte in analytes:
            assert set(named(analyte)) == {analyte.replace("_", " ")}
        assert named("none such") == everything


@pytest.fixture
def weak(book, bottle, remembering):
    """Vodka V-1 at 37.0 % vol, checked, and the name of its flag: its category asks for 37.5."""
    bottle("V-1", "VODKA", "PROOF-1", laboratory_strength_pct_vol=37.0, u_laboratory_strength_pct_vol=0.05)
    run_checks(book)
    return book.value("SELECT flag FROM flagged.flags WHERE rule = 'category-strength'")


def test_a_flag_of_a_small_book_is_told_from_its_own_row(book, weak):
    """What was compared by its name in words, the rule's words, the record that it was read from and what happened."""
    rules, frames = effective_rules(book)

    full = explanation(book, weak, rules, frames)

    assert full["flag"]["flag"] == weak
    assert full["numbers"] == {
        "laboratory strength": 37.0, "least strength": 37.5, "standard uncertainty of laboratory strength": 0.05,
    }  # fmt: skip
    rule = next(rule for rule in rules if rule.id == "category-strength")
    assert full["rule"] == {name: getattr(rule, name) for name in full["rule"]} and len(full["rule"]) == 6
    assert "bottling of V-1" in [given["what"] for given in full["inputs"]]
    assert [event["happened"] for event in full["history"]] == ["opened"]


def test_of_two_records_of_one_description_the_flag_names_its_own(book, weak):
    """The second of two rows that are described alike, by number; where it is gone, a sentence says so."""
    second = flag_name("category-strength", "batch V-1", 2)
    for table in ("flagged.flags", "history.flag_events"):
        book.execute(f"UPDATE {table} SET flag = ? WHERE flag = ?", [second, weak])
    rules, frames = effective_rules(book)
    batches = frames["batches"]
    twice = pl.concat([batches, batches.with_columns(laboratory_strength_pct_vol=pl.lit(36.0))])

    assert explanation(book, second, rules, frames | {"batches": twice})["numbers"]["laboratory strength"] == 36.0
    with pytest.raises(UnknownRecord, match="not in the book any more"):
        explanation(book, second, rules, frames)


def test_a_flag_that_the_last_check_did_not_raise_is_told_as_such(book, weak):
    """Measured anew at 40 % vol: the flag is gone, and there is nothing to explain."""
    book.execute("UPDATE derived.bottlings SET laboratory_strength_pct_vol = 40.0")
    run_checks(book)

    with pytest.raises(UnknownRecord, match=rf"Flag {weak} \(category-strength, batch V-1\) is gone"):
        explanation(book, weak, *effective_rules(book))


def test_a_flag_on_a_log_names_the_rows_of_its_run(book, put, remembering):
    """From the first line to the last that lie at the run, of its still alone; and the run sheet's line."""
    put("typed.runs", run="STR-1", stage="strip", equipment="S1", started_at="2031-01-01 06:00",
        ended_at="2031-01-01 14:00")  # fmt: skip
    put("derived.log_summaries", run="STR-1", equipment="S1", tag="pot_temperature_c", points=10, expected_points=481,
        longest_gap_min=400.0, first_at="2031-01-01 06:00", last_at="2031-01-01 14:00")  # fmt: skip
    put("received.files", file_id=1, sha256="a", name="log.csv", origin="o", size_bytes=1, map="m", map_sha256="m",
        received_at="2031-01-01", received_by="x", times_read=1)  # fmt: skip
    put("landed.sources", source_id=1, file_id=1, header_line=1, header=["a"])
    book.execute("CREATE TABLE typed.log_rows (source_id INTEGER, line INTEGER, equipment VARCHAR, read_at TIMESTAMP)")
    for line, still, hour in ((4, "S1", "06"), (9, "S1", "14"), (10, "S1", "15"), (3, "S1", "05"), (2, "S2", "07")):
        put("typed.log_rows", line=line, equipment=still, read_at=f"2031-01-01 {hour}:00")
    run_checks(book)
    name = book.value("SELECT min(flag) FROM flagged.flags WHERE subject = 'log_tags'")

    full = explanation(book, name, *effective_rules(book))

    assert [given["what"] for given in full["inputs"]] == ["run STR-1 (strip)", "log of S1 at run STR-1, to line 9"]
    assert [given["place"] for given in full["inputs"]] == ["log.csv:1", "log.csv:4"]
