"""The tables of run curves on the sample book: what is read, what is kept, what is compared."""

import shutil
from dataclasses import replace
from datetime import timedelta
from statistics import mean

import polars as pl
import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.curves import run_curves as module
from gaugebook.pipeline.intake.flow import profile_in_force
from sample_logs.generator.simulation import simulate

LOG_BLOCKS = module.HERE.parent / "log_blocks.sql"


@pytest.fixture(scope="module")
def own_book(sample_book, tmp_path_factory):
    """A copy of the sample book that may be written."""
    folder = tmp_path_factory.mktemp("curves") / "book"
    shutil.copytree(sample_book, folder)
    return folder


@pytest.fixture
def book(sample_book):
    """The sample book, open for reading."""
    with open_book(sample_book) as opened:
        yield opened


def remade(folder, monkeypatch, change=None):
    """Make the curves again, after a change; returns the runs whose log was read."""
    read = []
    read_logs = module.read_logs
    monkeypatch.setattr(
        module, "read_logs", lambda book, rows: [read.extend(row["run"] for row in rows), read_logs(book, rows)][1]
    )
    with open_book(folder, writing=True) as opened:
        if change:
            opened.execute(change)
        opened.run_file(LOG_BLOCKS)
        for table in ("run_curves", "curve_cuts", "curve_findings"):
            opened.execute(f"DELETE FROM derived.{table}")
        module.run_curves(opened, profile_in_force(opened))
        return read, opened.frame("SELECT * FROM derived.run_curves ORDER BY run")


def test_every_logged_run_has_a_curve_with_both_cuts(book):
    """136 still runs of thirteen months."""
    assert book.value("SELECT count(*) FROM derived.run_curves") == book.value(
        "SELECT count(*) FROM derived.log_clocks"
    )
    assert (
        book.value("SELECT count(*) FROM derived.run_curves WHERE hearts_from_at IS NULL OR hearts_to_at IS NULL") == 0
    )


def test_cuts_agree_with_the_run_sheet_where_the_clocks_do(book):
    """The sheet's cuts of the sample are true to the minute; one log is an hour off, and shows it."""
    apart = book.frame("""
        SELECT run, abs(epoch(hearts_from_at - hearts_from_sheet_at)) / 60 AS from_min,
               abs(epoch(hearts_to_at - hearts_to_sheet_at)) / 60 AS to_min
        FROM derived.run_curves
    """).to_dicts()

    assert {row["run"] for row in apart if max(row["from_min"], row["to_min"]) > 3.0} == {"STR-2603-07"}


def test_the_only_fault_of_a_sensor_is_the_planted_one(book):
    """The stuck probe of planted_faults.toml; nothing else in 136 logs, but for runs that left their band."""
    found = book.frame("SELECT run, tag, kind FROM derived.curve_findings WHERE kind <> 'left the band'").rows()

    assert found == [("REC-2607-01", "column_temperature_c", "stuck")]


def test_the_worn_gasket_shows_as_runs_that_left_the_band(book):
    """The last three strips on S2 before the repair left it; at most four of the other 133 runs did."""
    left = set(book.frame("SELECT run FROM derived.run_curves WHERE band = 'left'")["run"])

    assert left >= {"STR-2605-02", "STR-2605-04", "STR-2605-06"}
    assert len(left) <= 3 + 4


def test_few_runs_have_no_band_yet(book):
    """Apple runs, four on each still."""
    bands = book.frame("""
        SELECT DISTINCT c.band FROM derived.run_curves AS c JOIN typed.runs USING (run) WHERE product = 'APPLE'
    """)["band"].to_list()

    assert bands == ["no band yet"]


def test_alcohol_by_the_log_is_that_of_the_receivers_and_what_was_lost(book):
    """Hearts of S1: so much as goes as vapour and hold-up in the simulation the log must show more."""
    more = book.value("""
        SELECT avg(difference_l / gauged_alcohol_l) FROM derived.curve_cuts JOIN derived.run_curves USING (run)
        WHERE part = 'hearts' AND equipment = 'S1'
    """)
    on_s1 = {run.run for run in simulate().book.runs if run.stage == "strip" and run.equipment == "S1"}
    workings = [working for working in simulate().book.workings if working.run in on_s1]
    lost = mean(
        working.lost[0][1].alcohol_l / sum(liquid.alcohol_l for lot, liquid in working.out if not lot.endswith("-S"))
        for working in workings
    )

    assert more == pytest.approx(lost, abs=0.002)


def test_a_log_that_came_in_two_files_a_tag_each_is_read_as_one(sample_book, tmp_path):
    """Row for row what is read where one file holds both tags, the file of the later tag in no order of time."""
    with open_book(sample_book) as book:
        (run,) = book.frame(
            "SELECT run, equipment, log_started_at AS first_at, end_at AS last_at FROM derived.run_curves "
            "WHERE run = 'STR-2511-02'"
        ).to_dicts()
        rows = book.frame(
            "SELECT * FROM typed.log_rows WHERE equipment = ? AND read_at BETWEEN ? AND ? ORDER BY read_at",
            [run["equipment"], run["first_at"], run["last_at"]],
        )
        flow, files = "distillate_flow_l_h", [str(tmp_path / f"{name}.parquet") for name in ("all", "pot", "flow")]
        rows.write_parquet(files[0])
        rows.with_columns(pl.lit(None, pl.Float64).alias(flow)).write_parquet(files[1])
        others = [tag for tag in module.TAGS if tag in rows.columns and tag != flow]
        only = rows.with_columns(*(pl.lit(None, pl.Float64).alias(tag) for tag in others))
        only.with_columns(source_id=pl.col("source_id") + 1).sample(fraction=1.0, shuffle=True, seed=1).with_columns(
            line=pl.int_range(pl.len(), dtype=pl.Int32)
        ).write_parquet(files[2])

        whole, told = (next(module.read_logs(book, [run | {"files": held}])) for held in (files[:1], files[1:]))

    assert told[0].tolist() == whole[0].tolist()
    assert {tag: list(map(str, series)) for tag, series in told[1].items()} == {
        tag: list(map(str, series)) for tag, series in whole[1].items()
    }


def test_no_log_is_read_again_while_nothing_changes(own_book, monkeypatch):
    """And the table is the same."""
    _, before = remade(own_book, monkeypatch)
    read, after = remade(own_book, monkeypatch)

    assert read == []
    assert after.equals(before)


def test_a_change_of_one_run_reads_one_log(own_book, monkeypatch):
    """An amended cut of one run sheet."""
    remade(own_book, monkeypatch)
    change = "UPDATE typed.runs SET hearts_to = hearts_to + INTERVAL 30 MINUTE WHERE run = 'STR-2511-02'"

    read, after = remade(own_book, monkeypatch, change)

    assert read == ["STR-2511-02"]
    row = after.filter(run="STR-2511-02").row(0, named=True)
    assert row["hearts_to_sheet_at"] - row["hearts_to_at"] > timedelta(minutes=28)


def test_curves_of_runs_that_are_gone_are_not_kept(own_book, monkeypatch):
    """A run struck from the sheet."""
    remade(own_book, monkeypatch, "DELETE FROM typed.runs WHERE run = 'STR-2511-04'")

    with open_book(own_book) as opened:
        assert opened.value("SELECT count(*) FROM derived.kept_curves WHERE run = 'STR-2511-04'") == 0


@pytest.mark.parametrize(("kind", "is_continuous"), [("batch", False), ("continuous", True)])
def test_the_profile_says_of_a_still_whether_it_is_fed_while_it_runs(own_book, kind, is_continuous):
    """Its curves rest on it; a still of which nothing is said is charged and emptied."""
    with open_book(own_book) as opened:
        house = profile_in_force(opened)
        row = opened.frame("SELECT * FROM derived.run_curves WHERE equipment = 'S1' LIMIT 1").to_dicts()[0]
    stills = tuple(replace(still, kind=kind) if still.code == "S1" else still for still in house.stills)
    row |= {"gauged": None, "offset_min": None, "charge_strength_pct_vol": None, "hearts_from": None, "hearts_to": None}

    assert module.circumstances(row, replace(house, stills=stills)).is_continuous is is_continuous
    assert module.circumstances(row, house).is_continuous is False


def test_a_kept_curve_rests_on_all_code_that_makes_it():
    """Every module of this room, of engineering and of statistics is in the fingerprint: a change makes curves anew."""
    rests_on = {path for pattern in module.RESTS_ON for path in module.PIPELINE.glob(pattern)}

    for folder in ("derived/curves", "engineering", "statistics"):
        modules = set((module.PIPELINE / folder).glob("*.py"))
        assert modules and modules <= rests_on, folder
