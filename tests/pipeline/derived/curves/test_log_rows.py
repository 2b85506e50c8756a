"""One log told in many files and orders is one log; a clock that was set back stays as it was written."""

from datetime import datetime, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gaugebook.pipeline.derived.curves.log_rows import as_logged

START = datetime(2026, 1, 2, 10)
TAGS = ("pot_temperature_c", "distillate_flow_l_h", "parrot_strength_pct_vol")
MINUTES = list(range(90))
SET_BACK = [minute if minute < 40 else minute - 30 for minute in MINUTES]  # at row 40 by half an hour
Written = list[tuple[float, int, dict[str, float]]]  # minute, file, values


def values(number: int) -> dict[str, float]:
    """What the row of this number shows."""
    return dict(zip(TAGS, (78.0 + 0.1 * number, 40.0 + number, 80.0 - 0.2 * number), strict=True))


def whole(minutes: list[int]) -> Written:
    """A row an instant, in one file."""
    return [(minute, 0, values(number)) for number, minute in enumerate(minutes)]


def logged(written: Written) -> list[tuple[float, ...]]:
    """Minute and values of the rows as they are put together again."""
    frame = pl.DataFrame({
        "read_at": [START + timedelta(minutes=minute) for minute, _, _ in written],
        "source_id": [file for _, file, _ in written],
        "line": range(len(written)),
        **{tag: [shown.get(tag) for _, _, shown in written] for tag in TAGS},
    }, schema_overrides=dict.fromkeys(TAGS, pl.Float64)).sort("source_id", "line")  # fmt: skip
    rows = as_logged(frame).with_columns(pl.col("read_at").sub(START).dt.total_seconds() / 60)
    return rows.select("read_at", *TAGS).rows()


def by_tag(written: Written, files: bool) -> Written:
    """All of one tag and then all of the next, in one file or a file a tag."""
    return [
        (minute, file if files else 0, {tag: shown[tag]})
        for file, tag in enumerate(TAGS)
        for minute, _, shown in written
    ]


@settings(max_examples=20)
@given(st.randoms(use_true_random=False), st.integers(1, 4))
def test_a_log_is_the_same_however_it_is_dealt_out(rng, files):
    """Value by value to any file, in any order."""
    cells = [
        (minute, rng.randrange(files), {tag: x}) for minute, _, shown in whole(MINUTES) for tag, x in shown.items()
    ]
    rng.shuffle(cells)

    assert logged(cells) == logged(whole(MINUTES))


@pytest.mark.parametrize(
    "told",
    [
        by_tag(whole(MINUTES), files=True),
        by_tag(whole(MINUTES), files=False),
        whole(MINUTES)[::-1],
        [(minute, -minute // 30, shown) for minute, _, shown in whole(MINUTES)],  # the latest file received first
        [(minute, minute % 2, shown) for minute, _, shown in whole(MINUTES)],  # every other row
        [(minute, minute // 45, shown) for minute, _, shown in whole(MINUTES)][::-1],
    ],
)
def test_order_of_files_and_rows_says_nothing(told):
    """A file a tag, all of one tag and then all of the next, newest first, files received in another order."""
    assert logged(told) == logged(whole(MINUTES))
    assert [row[0] for row in logged(told)] == MINUTES


@pytest.mark.parametrize("files", [True, False])
def test_tags_that_are_read_at_other_instants_are_in_order_of_time(files):
    """One tag at the minute and another half a minute later, each written as a whole: no clock was set back."""
    late = [(minute + TAGS.index(tag) / 4, file, {tag: x}) for minute, file, shown in by_tag(whole(MINUTES), files)
            for tag, x in shown.items()]  # fmt: skip

    minutes = [row[0] for row in logged(late)]

    assert minutes == sorted(minutes)
    assert len(minutes) == 3 * len(MINUTES)


@pytest.mark.parametrize(
    "told",
    [
        whole(SET_BACK),
        whole(SET_BACK)[::-1],
        by_tag(whole(SET_BACK), files=True),
        [
            *by_tag(whole(SET_BACK), files=False)[90:],
            *((minute, 1, {TAGS[0]: shown[TAGS[0]]}) for minute, _, shown in whole(SET_BACK)),
        ],
    ],
)
def test_a_clock_that_was_set_back_stays_as_it_was_written(told):
    """Within one file or a file a tag: the rows after it are not mixed with those of the same shown time before."""
    expected = [(float(minute), *values(number).values()) for number, minute in enumerate(SET_BACK)]

    assert logged(told) == [pytest.approx(row) for row in expected]


def test_rows_of_a_clock_set_back_are_never_one_with_others_that_show_the_same_tag():
    """Each of the thirty instants that it shows twice keeps both its rows."""
    assert np.bincount([int(row[0]) for row in logged(whole(SET_BACK))])[10:40].tolist() == [2] * 30


def test_what_is_blank_before_a_clock_was_set_back_is_not_filled_from_after_it():
    """A sensor that showed nothing at minute 20 has no value there because it had one when it was 20 again."""
    told = [
        (minute, file, {} if number == 20 else shown) for number, (minute, file, shown) in enumerate(whole(SET_BACK))
    ]
    told[20] = (20, 0, {TAGS[0]: 80.0})
    told[50] = (20, 0, {TAGS[1]: 90.0})

    assert [row[1:] for row in logged(told) if row[0] == 20] == [(80.0, None, None), (None, 90.0, None)]


@pytest.mark.parametrize("minutes", [MINUTES, SET_BACK])
def test_an_instant_that_was_cut_in_two_is_one_row(minutes):
    """As where a long export is read in parts and one ends between two tags of an instant."""
    told = whole(minutes)
    told[60:61] = [(minutes[60], 0, {TAGS[0]: 84.0}), (minutes[60], 0, {TAGS[1]: 100.0, TAGS[2]: 68.0})]

    assert logged(told) == logged(whole(minutes))
