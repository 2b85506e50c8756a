"""The chain itself: what an entry's hash is made of, and that nothing can be altered, left out or put between."""

import dataclasses
import hashlib
import json
from datetime import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_house import FILES, write_house

from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.book.migration import migrations
from gaugebook.pipeline.book.register import FIRST, Event
from gaugebook.pipeline.book.table_digests import append_events, states_of
from gaugebook.pipeline.intake.flow import receive, receive_again
from gaugebook.pipeline.typed.amendments import Target, amend

AT = datetime(2031, 3, 1, 12)


def chain_of_three():
    chain, before = [], FIRST
    for number, kind in enumerate(("file received", "check", "decision"), start=1):
        chain.append(
            register.link(number, AT, Event(kind, "Bränneri \U0001f943", {"n": number, "ü": ["x", None]}), before)
        )
        before = chain[-1].own_sha256
    return chain


def plain_hash(value):
    """Canonical JSON by the standard library alone: for texts and whole numbers under ASCII keys it is RFC 8785's."""
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def test_the_chain_can_be_recomputed_with_the_standard_library():
    """Each line of an extract gives its own hashes with json and hashlib alone."""
    before = FIRST
    for line in map(register.as_line, chain_of_three()):
        entry = json.loads(line)
        assert entry["before_sha256"] == before
        assert entry["payload_sha256"] == plain_hash(entry["payload"])
        linked = {name: value for name, value in entry.items() if name not in ("payload", "own_sha256")}
        assert entry["own_sha256"] == plain_hash(linked)
        before = entry["own_sha256"]


def test_an_extract_gives_the_same_entries_back():
    """Entry to line to entry is the same entry."""
    chain = chain_of_three()

    assert [register.from_line(register.as_line(entry)) for entry in chain] == chain
    with pytest.raises(ValueError, match="no entry of a register"):
        register.from_line('{"number": 1}')


@given(st.integers(0, 2), st.sampled_from([field.name for field in dataclasses.fields(register.Entry)]))
def test_an_altered_entry_is_named(place, name):
    """Whatever field of whatever entry is altered, that entry is the first that does not hold."""
    chain = chain_of_three()
    value = getattr(chain[place], name)
    other = value + 1 if isinstance(value, int) else value.replace(year=2030) if name == "entered_at" else f"{value}x"
    chain[place] = dataclasses.replace(chain[place], **{name: other})

    fault = register.chain_fault(chain)

    assert fault is not None
    assert fault.number == chain[place].number


def test_an_entry_taken_out_doubled_or_put_elsewhere_is_named():
    """The chain has every number once, in order, each on the hash of the one before."""
    first, second, third = chain_of_three()

    assert register.chain_fault([first, second, third]) is None
    assert register.chain_fault([first, third]).number == 3
    assert register.chain_fault([first, first, second, third]).number == 1
    assert register.chain_fault([second, third]).number == 2
    assert register.chain_fault([first, third, second]).number == 3


def test_files_are_entered_in_the_order_in_which_they_were_given(received, tmp_path):
    """One entry a file, by the order of names within a folder; given again, none is added."""
    received()
    with open_book(tmp_path / "book") as book:
        chain = register.entries(book)
    received()
    with open_book(tmp_path / "book") as book:
        assert register.entries(book) == chain

    assert register.chain_fault(chain) is None
    assert [entry.kind for entry in chain] == [
        "schema",
        "house profile",
        *["file received"] * len(FILES),
        "derived quantities",
    ]
    assert [entry.subject for entry in chain if entry.kind == "file received"] == sorted(FILES)
    payload = chain[2].data
    kept = (tmp_path / "site" / payload["name"]).read_bytes()
    assert payload["sha256"] == hashlib.sha256(kept).hexdigest()


def test_a_state_does_not_depend_on_the_order_of_rows(received, tmp_path):
    """The same rows in another order have the same state; a row twice has another."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        before = states_of(book, ["typed.fills"])
        book.execute("CREATE TEMP TABLE turned AS FROM typed.fills ORDER BY sample_no DESC")
        book.execute("DELETE FROM typed.fills")
        book.execute("INSERT INTO typed.fills FROM turned")
        assert states_of(book, ["typed.fills"]) == before
        book.execute("INSERT INTO typed.fills FROM turned LIMIT 1")
        assert states_of(book, ["typed.fills"]) != before


def test_amendments_refusals_and_files_read_anew_are_entered(received, tmp_path):
    """Each in the transaction of what it records, with person and reason or with the reason of the refusal."""
    received(
        {"odd.csv": "lot,no,ml\nRYE-1,9,499\n", "moves_x.csv": "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\nX,IN,,\n"}
    )
    folder = tmp_path / "book"
    with open_book(folder, writing=True) as book, book.transaction():
        amend(book, Target("moves.csv", None, 9), "strength_reading", "79.5", "AB", "misread", AT, "UTC")
    receive_again(folder, None)

    with open_book(folder) as book:
        chain = register.entries(book)
    by_kind = {entry.kind: entry for entry in chain}
    assert by_kind["file refused"].data["code"] == "file.no-map"
    amended = by_kind["amendment"].data
    assert (amended["old_value"], amended["new_value"], amended["person"]) == ("80.0", "79.5", "AB")
    assert by_kind["amendment"].entered_at == AT
    assert by_kind["file read again"].subject == "moves_x.csv"
    assert register.chain_fault(chain) is None


def test_what_is_undone_leaves_no_entry(received, tmp_path):
    """An entry stands or falls with the transaction of what it records."""
    received()
    with open_book(tmp_path / "book", writing=True) as book:
        before = register.head(book)
        with pytest.raises(ZeroDivisionError), book.transaction():
            append_events(book, [Event("decision", "none", {})])
            raise ZeroDivisionError
        assert register.head(book) == before


def test_a_book_from_before_the_register_gets_one(tmp_path):
    """It begins with the book as it stands, says so, and goes on from there."""
    write_house(tmp_path / "site")
    folder = tmp_path / "book"
    receive(folder, [tmp_path / "site"], None)
    with open_book(folder, writing=True) as book:
        book.execute("DROP SCHEMA register CASCADE")
    (tmp_path / "site" / "fills2.csv").write_text("lot,no,ml\nRYE-1,4,501\n")

    receive(folder, [tmp_path / "site"], None)

    with open_book(folder) as book:
        kinds = [entry.kind for entry in register.entries(book)]
    schema = ["schema"] * len(migrations())
    assert kinds == ["begun", *["file held"] * len(FILES), *schema, "file received", "derived quantities"]
