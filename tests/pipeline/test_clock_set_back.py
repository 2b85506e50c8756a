"""A log whose clock is set back within the run, by whole minutes: its rows repeat instants and contradict nothing."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from small_house import MAPS, write_house

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.landed import delimited

BEGIN = datetime(2026, 1, 12, 10)
MINUTES, STEP, ROW = 340, 40, 150  # rows; minutes that the clock is set back after a row
WIDE = MAPS["log"].replace('unit = "degF"', 'unit = "degC"').replace(
    "vapour_temperature_c", 'distillate_flow_l_h = { column = "Flow", unit = "L/h" }\nvapour_temperature_c'
)  # fmt: skip
LONG = (
    MAPS["log"].split("[records.wide]")[0]
    .replace("skip_after_header = 1", "").replace('["Time", "Pot"]', '["Time", "Tag"]')
    + 'tag = { column = "Tag" }\nvalue = { column = "Value" }\n'
)  # fmt: skip
COLUMNS = ("pot_temperature_c", "vapour_temperature_c", "distillate_flow_l_h")


def rows() -> list[tuple[datetime, tuple[float, float, float]]]:
    """A pot that gives, as the receivers hold, 27 L/h for four and a half hours, and a clock set back in the midst."""
    rng = np.random.default_rng(7)
    minute = np.arange(MINUTES)
    pot = np.minimum(20 + 1.45 * minute, 92 + 0.02 * minute) + rng.normal(0, 0.08, MINUTES)
    vapour = np.where(minute > 48, 80 + 0.03 * minute, 21.0) + rng.normal(0, 0.08, MINUTES)
    flow = np.where((minute >= 55) & (minute < 325), 27.3 * (1 + 0.012 * rng.normal(size=MINUTES)), 0.0)
    times = [BEGIN + timedelta(minutes=int(m) - (STEP if m > ROW else 0)) for m in minute]
    return [(at, (round(p, 1), round(v, 1), round(f, 1))) for at, p, v, f in zip(times, pot, vapour, flow, strict=True)]


def written(log: list[tuple[datetime, tuple[float, float, float]]], layout: str) -> str:
    """The log as the device exports it."""
    if layout == "long":
        lines = [
            f"{at:%d.%m.%Y %H:%M:%S},{tag},{v}\n" for at, values in log for tag, v in zip(COLUMNS, values, strict=True)
        ]
        return "controller\nTime,Tag,Value\n" + "".join(lines)
    lines = [f"{at:%d.%m.%Y %H:%M:%S},{p},{v},{f}\n" for at, (p, v, f) in log]
    return "controller\nTime,Pot,Vapour,Flow\n,degC,degC,L/h\n" + "".join(lines)


def taken(tmp_path, texts: list[str], layout: str = "wide"):
    """The small house with these logs of S1, one after another; the counts of each log."""
    paths = write_house(tmp_path / "site")
    (tmp_path / "site" / "maps" / "log.toml").write_text(WIDE if layout == "wide" else LONG)
    receive(tmp_path / "book", paths, None)
    counts = []
    for number, text in enumerate(texts):
        path = tmp_path / "site" / f"S1_part{number}.csv"
        path.write_text(text)
        outcomes = receive(tmp_path / "book", [path], None)
        counts += [count for outcome in outcomes for count in outcome.counts]
    return [(count.kept, count.held, count.refused, count.passed_over) for count in counts]


@pytest.mark.parametrize("layout", ["wide", "long"])
@pytest.mark.parametrize("block_bytes", [900, 2**24])
@pytest.mark.parametrize("newest_first", [False, True])
def test_every_row_is_kept_and_the_clock_is_named(tmp_path, monkeypatch, layout, block_bytes, newest_first):
    """No row is refused, the curve stands on one clock, and all that is found is the clock, with size and place."""
    monkeypatch.setattr(delimited, "BLOCK_BYTES", block_bytes)
    log = rows()[::-1] if newest_first else rows()

    (counts,) = taken(tmp_path, [written(log, layout)], layout)

    assert counts == (MINUTES * (3 if layout == "long" else 1), 0, 0, 0)
    with open_book(tmp_path / "book") as book:
        found = book.frame("SELECT kind, tag, size, detail FROM derived.curve_findings").rows()
        curve = book.frame("SELECT points, epoch(end_at - first_drop_at) / 60 AS flowed_min FROM derived.run_curves")
    assert [(kind, tag) for kind, tag, _, _ in found] == [("clock step", None)]
    assert found[0][2] == -(STEP * 60.0)
    assert found[0][3] == f"clock set back by {STEP}.0 min, {ROW} min into the log"
    assert curve.row(0) == (MINUTES, pytest.approx(270.0, abs=1.0))


def test_a_later_export_of_the_same_log_is_held_row_by_row(tmp_path):
    """Both values of an instant stand in the book, and each is known again."""
    log = rows()

    first, again = taken(tmp_path, [written(log[:250], "wide"), written(log[100:], "wide")])

    assert first == (250, 0, 0, 0)
    assert again == (MINUTES - 250, 150, 0, 0)


def test_rows_written_twice_with_the_same_values_are_held(tmp_path):
    """An export joined from parts is no clock that was set back."""
    log = [(BEGIN + timedelta(minutes=minute), values) for minute, (_, values) in enumerate(rows())]

    (counts,) = taken(tmp_path, [written(log[:200] + log[160:], "wide")])

    assert counts == (MINUTES, 40, 0, 0)


def test_a_row_that_contradicts_without_a_clock_set_back_is_refused(tmp_path):
    """One row that stands there twice with two values is a contradiction, as it was."""
    log = [(BEGIN + timedelta(minutes=minute), values) for minute, (_, values) in enumerate(rows())]
    other = [(log[120][0], (11.1, 22.2, 33.3))]

    (counts,) = taken(tmp_path, [written(log[:130] + other + log[130:], "wide")])

    assert counts == (MINUTES, 0, 1, 0)
    with open_book(tmp_path / "book") as book:
        assert book.value("SELECT count(DISTINCT line) FROM typed.refused WHERE code = 'conflict'") == 1
