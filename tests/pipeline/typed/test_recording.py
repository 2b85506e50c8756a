"""What became of the rows of a section adds up, or nothing of its file is recorded."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gaugebook.pipeline.errors import GaugebookError, RowsLost
from gaugebook.pipeline.typed.recording import RowCounts

ROWS = st.integers(0, 10**6)


@given(kept=ROWS, held=ROWS, refused=ROWS, passed_over=ROWS, lost=st.integers(-5, 5))
def test_rows_add_up_or_an_error_says_which_do_not(kept, held, refused, passed_over, lost):
    """rows_in = kept + held + refused + passed_over; else the counts are told in a sentence for whoever sees it."""
    rows_in = kept + held + refused + passed_over + lost
    counts = RowCounts("fills", rows_in, kept, held, refused, passed_over)

    if lost == 0:
        counts.check()
        return
    with pytest.raises(RowsLost, match=f"Of {rows_in} rows of fills {rows_in - lost} are accounted for") as error:
        counts.check()
    assert isinstance(error.value, GaugebookError)


def test_the_check_holds_where_assertions_are_left_out():
    """Under `python -O` as well, where an assert would be no check at all."""
    code = "from gaugebook.pipeline.typed.recording import RowCounts; RowCounts('fills', rows_in=1).check()"

    ended = subprocess.run([sys.executable, "-O", "-c", code], capture_output=True, text=True, check=False)

    assert ended.returncode != 0
    assert "RowsLost: Of 1 rows of fills 0 are accounted for" in ended.stderr
