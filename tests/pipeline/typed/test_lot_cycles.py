"""A lot that would be made of itself is refused at receiving; recycled feints under a new name are not."""

import pytest

from gaugebook.pipeline.book.database import open_book

HEAD = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg\n"
STRENGTH = "100,20,40,pct_vol_20c,,"


def _row(run: str, direction: str, lot: str, part: str = "feints") -> str:
    return f"{run},{direction},{lot},{part},T1,{STRENGTH}\n"


@pytest.mark.parametrize(
    ("rows", "refused_lines"),
    [
        # the run draws what it makes
        ([("A", "in", "X"), ("A", "out", "X")], [3]),
        # two runs feed each other
        ([("A", "in", "X"), ("A", "out", "Y"), ("B", "in", "Y"), ("B", "out", "X")], [5]),
        # feints go back into the same still under a new name: no ring
        ([("A", "in", "X"), ("A", "out", "Y"), ("B", "in", "Y"), ("B", "out", "Z"), ("C", "in", "Z")], []),
        # two ways to the same lot are no ring
        ([("A", "in", "X"), ("A", "out", "Y"), ("A", "out", "Z"), ("B", "in", "Y"), ("B", "in", "Z")], []),
    ],
)
def test_rings_are_refused(received, tmp_path, rows, refused_lines):
    """Only the row that closes a ring is refused, with its code and what to do."""
    received({"moves_ring.csv": HEAD + "".join(_row(*row) for row in rows)})

    with open_book(tmp_path / "book") as book:
        refused = book.frame("SELECT line, code, value, to_do FROM typed.refused ORDER BY line")
        counts = book.frame(
            "SELECT kept, refused FROM typed.row_counts WHERE kind = 'movements' ORDER BY source_id DESC"
        )
        rings = book.value("SELECT count(*) FROM derived.steps WHERE into_rank IS NULL")
    assert refused["line"].to_list() == refused_lines
    assert set(refused["code"]) <= {"lot-feeds-itself"}
    assert counts.row(0) == (len(rows) - len(refused_lines), len(refused_lines)) or not refused_lines
    assert rings == 0


def test_a_ring_over_two_files_is_refused(received, tmp_path):
    """What closes a ring with movements that are already in the book is refused too: spent wash into its own wash."""
    received()
    received({"moves_2.csv": HEAD + _row("FER-1", "in", "SPENT-1", "spent")})

    with open_book(tmp_path / "book") as book:
        assert book.frame("SELECT code, value, raw FROM typed.refused").rows() == [
            ("lot-feeds-itself", "SPENT-1", "FER-1 / in / SPENT-1")
        ]
