"""Logs that overlap, repeat themselves or step back in time, against a plain account of their rows."""

import random
from datetime import datetime, timedelta

import pytest
from small_house import MAPS, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.landed import delimited

HEAD = "controller\nTime,Pot,Vapour\n,degC,degC\n"
BEGIN = datetime(2026, 1, 20, 10)
TAGS = ("pot_temperature_c", "vapour_temperature_c")
Row = tuple[datetime, float | None, float | None]


def exports(chance: random.Random, has_repeats: bool) -> list[list[Row]]:
    """Three exports of one log: each goes on from somewhere within the one before, some values changed or filled in."""
    files = []
    for start in (0, 25, 40):
        rows: list[Row] = []
        for minute in range(start, start + 40):
            pot = float(60 + minute) if has_repeats or chance.random() < 0.8 else None
            vapour = None if has_repeats or chance.random() < 0.3 else float(20 + minute)
            changed = 1.0 if chance.random() < 0.1 else 0.0
            rows.append((BEGIN + timedelta(minutes=minute), None if pot is None else pot + changed, vapour))
        if has_repeats:  # the clock is set back a little, and some rows come twice
            rows = rows[:20] + rows[14:30] + rows[29:]
        files.append(rows)
    return files


def account(files: list[list[Row]]) -> tuple[dict[tuple[datetime, str], float], list[tuple[int, int, int, int]]]:
    """The readings that must stand in the end; of each file rows kept, held, refused and passed over."""
    book: dict[tuple[datetime, str], float] = {}
    counts = []
    for rows in files:
        of_file = [0, 0, 0, 0]
        for at, *values in rows:
            read = {(at, tag): value for tag, value in zip(TAGS, values, strict=True) if value is not None}
            if not read:
                of_file[3] += 1
            elif any(book.get(key, value) != value for key, value in read.items()):
                of_file[2] += 1
            else:
                of_file[0 if read.keys() - book.keys() else 1] += 1
                book |= read
        counts.append((of_file[0], of_file[1], of_file[2], of_file[3]))
    return book, counts


@pytest.mark.parametrize(
    ("seed", "has_repeats", "block_bytes"), [(1, False, 400), (2, False, 2**24), (3, True, 400), (4, True, 2**24)]
)
def test_each_row_is_kept_held_or_refused_as_the_account_says(tmp_path, monkeypatch, seed, has_repeats, block_bytes):
    """Whatever the size of the blocks, each reading stands once, and no accepted one is written over."""
    monkeypatch.setattr(delimited, "BLOCK_BYTES", block_bytes)
    files = exports(random.Random(seed), has_repeats)
    write_house(tmp_path / "site")
    (tmp_path / "site" / "maps" / "log.toml").write_text(MAPS["log"].replace('unit = "degF"', 'unit = "degC"'))
    outcomes = []
    for number, rows in enumerate(files):
        path = tmp_path / "site" / f"S1_part{number}.csv"
        cells = [f"{at:%d.%m.%Y %H:%M:%S},{'' if p is None else p},{'' if v is None else v}\n" for at, p, v in rows]
        path.write_text(HEAD + "".join(cells))
        outcomes += receive(tmp_path / "book", [path], None)

    expected, counts = account(files)

    assert [(c.kept, c.held, c.refused, c.passed_over) for outcome in outcomes for c in outcome.counts] == counts
    with open_book(tmp_path / "book") as book:
        stands = book.frame("SELECT read_at, tag, value FROM typed.readings").rows()
    assert len(stands) == len(expected)
    assert {(at + timedelta(hours=1), tag): value for at, tag, value in stands} == expected
