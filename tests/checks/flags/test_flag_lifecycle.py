"""The life of a flag: opened once, explained until its value changes, amended away, reopened; nothing of it is lost."""

import json
from datetime import datetime, timedelta
from hashlib import sha256

import pytest
from by_hand import put_row

from gaugebook.checks.flags.flag_lifecycle import NotAllowed, Step, explain
from gaugebook.checks.run import run_checks
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.intake.flow import profile_in_force

pytestmark = pytest.mark.usefixtures("remembering")

START = datetime(2031, 4, 1, 8)


@pytest.fixture
def check(book):
    """Check the book at an hour after the start; what the check answered."""
    return lambda hour: run_checks(book, START + timedelta(hours=hour))


def low_recovery_checked(book):
    """A strip run with a recovery that needs explanation, and one check at the start."""
    put_row(
        book, "typed.runs", run="STR-1", stage="strip", equipment="S9", started_at="2031-01-01", ended_at="2031-01-02"
    )
    put_row(book, "derived.run_balances", run="STR-1", stage="strip", recovery=0.80, u_recovery=0.005)
    for direction, part in (("in", "wash"), ("out", "hearts")):
        put_row(book, "typed.movements", run="STR-1", direction=direction, lot=f"{part}-1", part=part)
    run_checks(book, START)


@pytest.fixture
def start(made_once):
    """Every test begins with the low recovery, checked once."""
    return made_once(low_recovery_checked)


@pytest.fixture
def recover(book):
    """A function that changes the recovery."""
    return lambda value: book.execute("UPDATE derived.run_balances SET recovery = ?", [value])


def flag_of(book, rule="strip-recovery"):
    return book.value("SELECT DISTINCT flag FROM history.flag_events WHERE rule = ?", [rule])


def life_of(book, rule="strip-recovery"):
    """What happened to the flag of a rule, in order."""
    found = book.frame("SELECT happened FROM history.flag_events WHERE rule = ? ORDER BY event", [rule])
    return found["happened"].to_list()


def amended(put, number, **key):
    """A movement of this run and lot was amended an hour after the start."""
    put("typed.amendments", amendment=number, kind="movements", record=" / ".join(key.values()),
        record_key=json.dumps(key), field="volume_at_t_l", person="AQ", reason="misread",
        amended_at=START + timedelta(hours=1))  # fmt: skip


def explained(book, hour, **more):
    given = {"person": "AQ", "reason": "The gasket was worn.", "at": START + timedelta(hours=hour)} | more
    return explain(book, profile_in_force(book), flag_of(book), **given)


def test_a_second_check_adds_nothing(book, check, recover):
    """A flag is opened once, however often it is found."""
    check(1)

    assert life_of(book) == ["opened"]


def test_an_explained_flag_stays_so_while_its_value_does(book, check, recover):
    """A re-run keeps the explanation and counts it, and the summary no longer asks for attention."""
    assert check(1).needs_attention
    explained(book, 1)

    summary = check(2)

    assert life_of(book) == ["opened", "explained"]
    assert (summary.flags["needs explanation"], summary.explained, summary.needs_attention) == (1, 1, False)


def test_a_changed_value_reopens_an_explained_flag(book, check, recover):
    """The explanation was of another value; it stays in the history."""
    explained(book, 1)
    recover(0.75)

    assert check(2).needs_attention
    assert life_of(book) == ["opened", "explained", "reopened"]
    reasons = book.frame("SELECT reason FROM history.flag_events ORDER BY event")["reason"].to_list()
    assert "The gasket was worn." in reasons


def test_a_change_below_what_is_shown_does_not_reopen(book, check, recover):
    """0.8000 and 0.80004 read alike at three decimals."""
    explained(book, 1)
    recover(0.80004)
    check(2)

    assert life_of(book) == ["opened", "explained"]


def test_an_open_flag_whose_value_changes_stays_open(book, check, recover):
    """The change is on record."""
    recover(0.75)
    check(1)

    assert life_of(book) == ["opened", "changed"]


def test_a_flag_that_an_amendment_took_away_says_which(book, check, recover, put):
    """The amendment named the flag's run, and the flag is there no more; brought back, it is reopened."""
    amended(put, 7, run="STR-1", lot="HRT-1")
    recover(0.97)
    check(2)
    recover(0.80)
    check(3)

    assert life_of(book) == ["opened", "amended away", "reopened"]
    sql = "SELECT reason FROM history.flag_events WHERE happened = 'amended away'"
    assert book.value(sql) == "amendment 7"


def test_a_flag_that_goes_without_an_amendment_is_gone(book, check, recover, put):
    """New data answered it; an amendment of something else has no part in it."""
    amended(put, 8, run="STR-9", lot="HRT-9")
    recover(0.97)
    check(2)

    assert life_of(book) == ["opened", "gone"]
    with pytest.raises(NotAllowed, match="is gone; there is nothing to explain"):
        explained(book, 3)


@pytest.mark.parametrize(
    "key",
    [
        {"run": "STR-9", "lot": "A / STR-1 / B"},
        {"run": "wash-1", "lot": "STR-1"},
        {"run": "STR-9", "lot": "A / wash-1"},
    ],
    ids=["a name within a name", "a lot named as the run", "a lot that ends as one of the run's"],
)
def test_a_name_counts_only_in_its_own_field(book, check, recover, put, key):
    """An amendment is of a flag's run or lot if its key says so in that field, whatever signs a name holds."""
    amended(put, 9, **key)
    recover(0.97)
    check(2)

    assert life_of(book) == ["opened", "gone"]


def test_an_attachment_is_kept_by_its_hash(book, check, recover, tmp_path):
    """The explanation records name and SHA-256 (FIPS 180-4, by hashlib) of the file, and the book keeps a copy."""
    photo = tmp_path / "gasket.txt"
    photo.write_bytes(b"a worn gasket")

    step = explained(book, 1, attachment=photo)

    digest = sha256(b"a worn gasket").hexdigest()
    assert step.attachment_sha256 == digest
    assert (book.folder / "attachments" / f"{digest}.txt").read_bytes() == b"a worn gasket"


def test_only_qa_accepts(book, check, recover):
    """Acceptance needs a role that may decide; explaining does not."""

    with pytest.raises(NotAllowed, match='"AQ" is distiller; flags are accepted by: qa lead'):
        explained(book, 1, accept=True)
    assert explained(book, 2, person="EV", accept=True).state == "accepted"


@pytest.mark.parametrize(
    ("more", "error", "message"),
    [
        ({"person": "ZZ"}, NotAllowed, '"ZZ" is nobody in the house profile; known: AQ, EV, FW'),
        ({"reason": "  "}, NotAllowed, "A reason is needed"),
    ],
)
def test_an_explanation_needs_a_person_and_a_reason(book, check, recover, more, error, message):
    """Nobody and nothing are no explanation."""

    with pytest.raises(error, match=message):
        explained(book, 1, **more)
    assert life_of(book) == ["opened"]


def test_an_unknown_flag_is_told_from_a_known_one(book, check, recover):
    """A name that no check ever raised gives the nearest that one did."""
    flag = flag_of(book)

    with pytest.raises(UnknownRecord, match=rf'Did you mean "{flag}"'):
        explain(book, profile_in_force(book), flag[:-1] + "x", "AQ", "A reason.", START)


def test_a_batch_is_clear_once_its_flags_are_explained(book, check, recover, bottle, put):
    """The standing follows the explanation at once, and goes back when the flag is reopened."""
    bottle("B-1", "STEEP", "L-1")
    put("derived.lineage", batch="B-1", run="STR-1", lot="WSH", into_lot="L-1", depth=2)

    def still_to_explain():
        return book.value("SELECT needs_explanation FROM flagged.standings")

    check(1)
    before = still_to_explain()
    explained(book, 1)
    assert still_to_explain() == before - 1
    recover(0.70)
    check(2)
    assert still_to_explain() == before


def test_what_a_person_did_with_a_flag_is_given_back(book):
    """Flag, state, record, person and reason, each in its place."""
    step = explained(book, 1)

    record = book.value("SELECT record FROM flagged.flags WHERE rule = 'strip-recovery'")
    assert step == Step(
        flag=flag_of(book), state="explained", record=record, person="AQ", reason="The gasket was worn.",
        attachment_sha256=None,
    )  # fmt: skip
