"""What a person writes as an amended value: read as the field reads it, or refused in a sentence; no book is made."""

import json
from datetime import datetime

import polars as pl
import pytest

from gaugebook.pipeline.typed.amendments import (
    AMENDABLE,
    AmendmentRefused,
    _refuse_broken_rules,
    _undone,
    key_of,
    shown_key,
    typed_value,
)
from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.pipeline.typed.record import Field

NUMBER = Field("volume_l", "number", possible=(0.0, 100.0), unit="L")
WHOLE = Field("replicate", "integer", possible=(1, 99))
CHOICE = Field("direction", "choice", choices=("in", "out"))
TIME = Field("ended_at", "time")


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (NUMBER, " 12.5 ", 12.5), (NUMBER, "0", 0.0), (NUMBER, "100", 100.0), (NUMBER, "", None), (NUMBER, "  ", None),
        (WHOLE, "7", 7), (WHOLE, "7.0", 7), (CHOICE, "OUT", "out"),
        (Field("note", "text"), " Some Words ", "Some Words"),
        (Field("free", "choice"), "Any", "any"), (TIME, "2026-01-31 14:05", datetime(2026, 1, 31, 13, 5)),
        (TIME, "2026-01-31T14:05Z", datetime(2026, 1, 31, 14, 5)),
        (TIME, "2025-10-26 02:30+01:00", datetime(2025, 10, 26, 1, 30)),
    ],
)  # fmt: skip
def test_a_value_is_read_as_its_field_reads_it(field, text, value):
    """Numbers with a point, choices in small letters, times by the house's clock; blank is not known."""
    read = typed_value(field, text, "Europe/Copenhagen")

    assert read == value
    assert type(read) is type(value)


@pytest.mark.parametrize(
    ("field", "text", "sentence"),
    [
        (NUMBER, "12,5", r'"12,5" is no number; expected one such as 12\.5\.'),
        (NUMBER, "-0.1", r"volume_l cannot be -0\.1; expected 0 to 100 L\."),
        (NUMBER, "100.1", r"volume_l cannot be 100\.1; expected 0 to 100 L\."),
        (WHOLE, "7.5", r'"7\.5" is no integer; expected one such as 12\.5\.'),
        (WHOLE, "0", r"replicate cannot be 0; expected 1 to 99 \."),
        (CHOICE, "up", r'direction cannot be "up"; expected one of in, out\.'),
        (TIME, "yesterday", r'"yesterday" is no time; expected one such as 2026-01-31 14:05, with its offset'),
        (TIME, "2025-10-26 02:30", "is no time"),  # the clock shows it twice
        (Field("lot", "text", required=True), " ", r"lot cannot be blank\."),
    ],
)
def test_a_value_that_cannot_be_is_refused(field, text, sentence):
    """With what was expected."""
    with pytest.raises(AmendmentRefused, match=sentence):
        typed_value(field, text, "Europe/Copenhagen")


def movement(**more):
    names = [field.name for field in RECORDS["movements"].fields]
    row = {"run": "R", "direction": "in", "lot": "A", "part": "wash", "volume_at_t_l": 10.0}
    return dict.fromkeys(names) | row | {"source_id": 1, "line": 7} | more


def test_a_record_is_named_by_its_key():
    """By field; a part that is blank stays so, a time is written with a space. People read it as one text."""
    key = key_of(RECORDS["movements"], movement(gauged_at=datetime(2026, 1, 2, 3)))

    assert key == {
        "run": "R", "direction": "in", "lot": "A", "part": "wash", "vessel": None, "gauged_at": "2026-01-02 03:00:00",
    }  # fmt: skip
    assert shown_key(key) == "R / in / A / wash /  / 2026-01-02 03:00:00"
    assert "movements" in AMENDABLE and "readings" not in AMENDABLE


def test_an_amendment_keeps_the_rules_of_the_row():
    """A movement without any quantity cannot be; its rule says what to do."""
    _refuse_broken_rules(RECORDS["movements"], movement())

    with pytest.raises(AmendmentRefused, match=r"^That cannot be: expected a volume or a mass; .*; fill in what was"):
        _refuse_broken_rules(RECORDS["movements"], movement(volume_at_t_l=None))


def amendments(*rows):
    names = ("source_id", "line", "record_key", "field", "old_value", "new_value")
    return pl.DataFrame([dict(zip(names, row, strict=True)) for row in rows], schema_overrides={"old_value": pl.String})


def test_amendments_are_taken_back_last_first():
    """10 became 11 and then 12 L, the vessel was blank: as it was read, and only where row, key and value are those."""
    record, row = RECORDS["movements"], movement(volume_at_t_l=12.0, vessel="T1")
    key = json.dumps(key_of(record, row | {"vessel": None}))
    placed = json.dumps(key_of(record, row))
    undone = _undone(
        record, row,
        amendments((1, 7, key, "vessel", None, "T1"),
                   (1, 7, key, "volume_at_t_l", "11.0", "12.0"), (1, 7, key, "volume_at_t_l", "10.0", "11.0"),
                   (1, 8, key, "volume_at_t_l", "1.0", "10.0"), (2, 7, key, "volume_at_t_l", "2.0", "10.0"),
                   (1, 7, placed, "volume_at_t_l", "3.0", "10.0"), (1, 7, key, "volume_at_t_l", "4.0", "99.0")),
    )  # fmt: skip

    assert (undone["volume_at_t_l"], undone["vessel"]) == (10.0, None)
    assert _undone(record, row, amendments((1, 8, key, "volume_at_t_l", "1.0", "12.0"))) == row
