"""Rows behind the time that a log had come to: which of them another time was meant for, on logs of single minutes."""

from datetime import datetime, timedelta

import polars as pl
import pytest

from gaugebook.pipeline.typed.set_back import RowsBehind, by_tag, parted_by_held

BEGIN = datetime(2031, 1, 1, 10)


def _rows(minutes, values, first_line=1, still="S1"):
    return pl.DataFrame(
        {
            "line": range(first_line, first_line + len(minutes)),
            "equipment": [still] * len(minutes),
            "read_at": [BEGIN + timedelta(minutes=minute) for minute in minutes],
            "tag": ["pot_temperature_c"] * len(minutes),
            "value": [float(value) for value in values],
        },
        schema_overrides={"read_at": pl.Datetime("us")},
    )


class _Log:
    """The rows of a log by instant, as the log's file gives them."""

    def __init__(self, rows):
        self._rows = rows

    def rows_at(self, instants):
        return self._rows.join(instants, on=["equipment", "read_at"], how="semi")


def _lines(*frames):
    behind = RowsBehind()
    for frame in frames:
        behind.note(frame)
    return sorted(behind.lines_of_set_backs(_Log(pl.concat(frames))).to_list())


def _after(values, minutes=(5, 6, 7, 8), first_line=11):
    """Ten minutes of a pot at its minute's number, then the clock back at minute 5."""
    return _rows(range(10), range(10)), _rows(minutes, values, first_line)


def test_rows_with_other_values_were_meant_for_another_time():
    """Four rows behind, all of them other than what stood there: whether in one frame or in two."""
    first, second = _after([20, 21, 22, 23])

    assert _lines(first, second) == [11, 12, 13, 14]
    assert _lines(pl.concat([first, second])) == [11, 12, 13, 14]
    # minute 9, in a frame of its own, is where the log had come: still behind
    assert _lines(first, second, _rows((9,), (24,), 15)) == [11, 12, 13, 14, 15]


def test_the_same_values_were_written_twice():
    """They repeat what stood there."""
    assert _lines(*_after([5, 6, 7, 8])) == []


@pytest.mark.parametrize(("values", "is_set_back"), [([5, 6, 22, 23], False), ([5, 21, 22, 23], True)])
def test_more_must_contradict_than_repeat(values, is_set_back):
    """Two of four do not."""
    assert bool(_lines(*_after(values))) == is_set_back


def test_three_rows_are_out_of_order():
    """So few tell nothing of the clock."""
    assert _lines(*_after([20, 21, 22], (5, 6, 7))) == []


def test_the_newest_row_may_come_first():
    """Ten minutes downwards, then forward again to minute 6, with other values."""
    first = _rows(range(9, -1, -1), range(9, -1, -1))

    assert _lines(first, _rows([6, 5, 4, 3], [20, 21, 22, 23], 11)) == [11, 12, 13, 14]


def test_rows_that_pass_where_the_log_had_come_are_no_longer_behind():
    """From minute 8 on: minutes 8 and 9 are shared, 10 to 13 are new; two rows are out of order."""
    assert _lines(*_after([20, 21, 22, 23, 24, 25], (8, 9, 10, 11, 12, 13))) == []


def test_two_stills_in_one_log_are_two_series():
    """The one's time says nothing of the other's."""
    first, other = _rows(range(10), range(10)), _rows((5, 6, 7, 8), (20, 21, 22, 23), 11, still="S2")

    assert _lines(pl.concat([first, other])) == []
    assert _lines(first, other) == []


def test_a_log_that_falls_back_all_the_time_has_no_order():
    """Fifty stretches are looked at, fifty-one are none of them."""
    first = _rows(range(10), range(10))
    back = [_rows((5, 6, 7, 8, 9, 100 + n), (*range(20, 25), 0), 11 + 6 * n) for n in range(51)]

    assert len(_lines(first, *back[:50])) > 0
    assert _lines(first, *back) == []


def test_a_row_of_several_tags_is_taken_tag_by_tag():
    """A blank has no value."""
    wide = pl.DataFrame(
        {
            "line": [1, 2], "equipment": ["S1", "S1"], "read_at": [BEGIN, BEGIN + timedelta(minutes=1)],
            "pot_temperature_c": [20.0, 21.0], "vapour_temperature_c": [None, 30.0],
        },
    )  # fmt: skip

    assert by_tag(wide).select("line", "tag", "value").sort("line", "tag").rows() == [
        (1, "pot_temperature_c", 20.0), (2, "pot_temperature_c", 21.0), (2, "vapour_temperature_c", 30.0),
    ]  # fmt: skip


def test_rows_that_the_book_holds_are_parted_from_new_ones():
    """Value for value at the same instant: of three rows one is held."""
    new, held = parted_by_held(_rows((1, 2, 3), (10, 20, 30)), _rows((1, 2, 4), (10, 21, 30)))

    assert new["line"].to_list() == [2, 3]
    assert held == 1
