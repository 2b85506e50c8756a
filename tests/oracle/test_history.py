"""What happened to the oracle book: flags opened, closed and explained, one decision, one check after another."""

import json
from datetime import datetime, timedelta
from hashlib import sha256

import duckdb

from tests.oracle.expectation import covers, in_book
from tests.oracle.test_flags import flags

PHOTOGRAPH = sha256(b"what the bag of peel looked like").hexdigest()
EXPLAINED = {
    "happened": "explained", "rule": "botanical-condition", "record": "run BOT-1, lemon peel", "person": "KM",
    "role": "head distiller", "reason": "fresh peel was not to be had", "attachment": "photograph.txt",
    "attachment_sha256": PHOTOGRAPH,
}  # fmt: skip
NOBODY = dict.fromkeys(("person", "role", "reason", "attachment", "attachment_sha256"))
COPIED = ("run", "lot", "batch", "answer", "severity", "value", "limits")
COLUMNS = {"event", "flag", "happened", "happened_at", "rule", "record", *COPIED, *NOBODY}
DECISION = {"decision", "batch", "verdict", "person", "role", "reason", "overruled", "decided_at", "evidence_sha256",
"evidence",
            "data_parts"}  # fmt: skip
covers("history.flag_events", *COLUMNS)
covers("history.flag_states", "state", *COLUMNS)
covers("history.decisions", *DECISION)
covers("history.verdicts", *DECISION)
covers("flagged.checked_from", "fingerprint", "rule_book_sha256", "checked_at", "code")


def since_made(at: datetime, oracle_book: duckdb.DuckDBPyConnection) -> bool:
    """Not before the first file was received, and not in the future (UTC)."""
    (first,) = oracle_book.execute("SELECT min(received_at) FROM received.files").fetchone() or (datetime.max,)
    (now,) = oracle_book.execute("SELECT now()::TIMESTAMP").fetchone() or (datetime.min,)
    return first <= at <= now + timedelta(seconds=1)


def test_events(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """Each flag was opened once, as it was flagged, by nobody; then one was explained by a person. Events are
    numbered as they came."""
    events = in_book(oracle_book, "history.flag_events")
    assert set(events[0]) == COLUMNS
    by_number = sorted(events, key=lambda event: event["event"])
    assert [event["event"] for event in by_number] == list(range(1, 22))
    assert [e["happened_at"] for e in by_number] == sorted(e["happened_at"] for e in by_number)
    assert all(since_made(event["happened_at"], oracle_book) for event in events)
    asked = {(row["rule"], row["record"]): row for row in flags()}
    names = {(row["rule"], row["record"]): row["flag"] for row in in_book(oracle_book, "flagged.flags")}
    opened = [event for event in by_number if event["happened"] == "opened"]
    assert {(event["rule"], event["record"]) for event in opened} == asked.keys()
    for event in by_number:
        flag = asked[event["rule"], event["record"]]
        assert {name: event[name] for name in COPIED} == {name: flag[name] for name in COPIED}
        assert event["flag"] == names[event["rule"], event["record"]]
        told = EXPLAINED if event["happened"] == "explained" else NOBODY
        assert {name: event[name] for name in told} == told
    assert len(opened) == len(events) - 1 == 20


def test_states(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """The last event of each flag says its state: nineteen open, one explained."""
    events = {event["event"]: event for event in in_book(oracle_book, "history.flag_events")}
    states = in_book(oracle_book, "history.flag_states")
    assert sorted(row["state"] for row in states) == ["explained", *["open"] * 19]
    for row in states:
        last = max(number for number, event in events.items() if event["flag"] == row["flag"])
        assert row == {"state": "explained" if row["happened"] == "explained" else "open", **events[last]}


def test_decision(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """GIN-A was held by OP. Its evidence is kept word for word, under its own SHA-256; nothing was overruled."""
    (row,) = in_book(oracle_book, "history.decisions")
    (standing,) = in_book(oracle_book, "history.verdicts")
    assert standing == row  # the last decision of a batch is the one that stands
    assert set(row) == DECISION
    assert (row["decision"], row["batch"], row["verdict"], row["person"], row["role"]) == (
        1,
        "GIN-A",
        "held",
        "OP",
        "qa lead",
    )
    assert (row["reason"], row["overruled"]) == ("methanol is awaited", [])
    assert since_made(row["decided_at"], oracle_book)
    assert row["evidence_sha256"] == sha256(row["evidence"].encode()).hexdigest()
    names = {
        "bottling",
        "calibrations",
        "fills",
        "gauges",
        "intake",
        "laboratory",
        "lineage",
        "opening",
        "panel",
        "runs",
    }
    assert json.loads(row["data_parts"]).keys() == json.loads(row["evidence"])["records"].keys() == names


def test_evidence_is_what_the_files_say(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """In the evidence stand the label, the fills, the panel and the laboratory as the files have them; nothing is
    left out."""
    (row,) = in_book(oracle_book, "history.decisions")
    records = json.loads(row["evidence"])["records"]
    assert records["bottling"] == [{
        "run": "PAK-1", "product": "GIN", "bottled_at": "2026-03-26 14:00:00", "nominal_ml": 700,
        "label_strength_pct_vol": 41.5,
        "bottles_filled": 692, "bottles_rejected": 9, "operator": "KM",
    }]  # fmt: skip
    assert [fill["net_content_ml"] for fill in records["fills"]] == [701.4, 699.2, 703.7, 683.1, 702.2]
    (panel,) = records["panel"]
    assert (panel["session"], panel["reference_lot"], panel["assessors"], panel["correct_answers"]) == (
        "T-1",
        "GIN-Z",
        17,
        9,
    )
    assert len(records["runs"]) == 8
    assert len(records["gauges"]) == 31 + 3  # lines of the run sheet and of the balance
    explained = [flag for flag in json.loads(row["evidence"])["flags"] if flag["state"] == "explained"]
    assert [(flag["flag"], flag["person"], flag["attachment_sha256"]) for flag in explained] == [
        ("F-0458e9ea", "KM", PHOTOGRAPH)
    ]


def test_what_was_checked(oracle_book: duckdb.DuckDBPyConnection) -> None:
    """The last check rests on 12 files, one amendment and the first edition of the profile, by a rule book and
    code named by hash."""
    (row,) = in_book(oracle_book, "flagged.checked_from")
    assert "12 files, 1 amendments, edition 1" in row["fingerprint"]
    assert row["fingerprint"].endswith(f"code {row['code']}") or len(row["code"]) == 64
    (decision,) = in_book(oracle_book, "history.decisions")
    assert row["rule_book_sha256"] == json.loads(decision["evidence"])["rule_book_sha256"]
    assert since_made(row["checked_at"], oracle_book)
