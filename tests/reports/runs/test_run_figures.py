"""The data of a run's figure, from the sample book: what the log holds, thinned without losing a spike, and no more."""

import dataclasses
import json

import numpy as np
import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.derived.curves.records import PARROT, RunCurve
from gaugebook.pipeline.statistics.log_cleaning import clean
from gaugebook.reports.runs.run_figures import _points, _series, as_json, figure_of, figures_of

STUCK, HOUR_OFF = "REC-2607-01", "STR-2603-07"  # planted_faults.toml


@pytest.fixture(scope="module")
def figures(sample_book):
    """Three runs: a stuck probe, a log an hour off, one of the first apple runs."""
    with open_book(sample_book) as book:
        return figures_of(book, [STUCK, HOUR_OFF, "STR-2510-01", "MSH-2510-01"])


def test_a_run_without_log_has_no_figure(figures, sample_book):
    """None, not an empty one."""
    assert "MSH-2510-01" not in figures
    with open_book(sample_book) as book:
        assert figure_of(book, "MSH-2510-01") is None


def test_log_cuts_band_and_findings(figures):
    """Of the run with the stuck probe; its band lies around its own pot."""
    figure = figures[STUCK]

    assert {"pot_temperature_c", "distillate_flow_l_h"} <= set(figure.series)
    assert [cut.name for cut in figure.cuts] == ["to hearts", "to tails"]
    assert all(abs(cut.curve_h - cut.sheet_h) < 0.05 for cut in figure.cuts)
    assert 0 < figure.phases["first drop"] < figure.cuts[0].curve_h < figure.cuts[1].curve_h < figure.phases["end"]
    line = figure.band["pot_temperature_c"]
    assert all(low < high for low, high in zip(line.low, line.high, strict=True))
    assert [(mark.kind, mark.tag) for mark in figure.findings] == [("stuck", "column_temperature_c")]


def test_stuck_values_are_set_aside_and_not_in_the_line(figures):
    """The planted 95 minutes: all of one value, none of them in the line, which is interrupted there."""
    figure = figures[STUCK]
    aside = [value for _, value in figure.set_aside["column_temperature_c"] if value is not None]
    found = figure.findings[0]
    inside = [
        value for hour, value in figure.series["column_temperature_c"] if found.from_h <= hour <= found.to_h
    ]  # fmt: skip

    assert len(set(aside)) == 1
    assert found.to_h - found.from_h == pytest.approx(95 / 60, abs=0.1)
    assert set(inside) <= {None}
    assert None in [value for _, value in figure.series["column_temperature_c"]]


def test_cuts_of_a_log_an_hour_off_are_moved_with_it(figures):
    """The sheet's cuts stand beside the curve's, and the figure says by how much they were moved."""
    figure = figures[HOUR_OFF]

    assert abs(figure.clock_off_min) == pytest.approx(60.0, abs=6.0)
    assert all(abs(cut.curve_h - cut.sheet_h) < 0.1 for cut in figure.cuts)


def test_figures_of_many_are_those_of_one(figures, sample_book):
    """Read together or alone."""
    with open_book(sample_book) as book:
        assert figure_of(book, STUCK) == figures[STUCK]


def test_json_holds_every_field_and_no_nan(figures):
    """What a browser draws is what the documents draw."""
    for figure in figures.values():
        told = json.loads(json.dumps(as_json(figure), allow_nan=False))

        assert set(told) == {field.name for field in dataclasses.fields(figure)}
        assert told["log_started_at"].endswith("Z")
        assert [tuple(point) for point in told["series"]["pot_temperature_c"]] == list(
            figure.series["pot_temperature_c"]
        )


def test_no_spike_is_lost_and_no_gap_drawn_over():
    """The one wild value among 30,000 of a one-hertz log is shown, and the line breaks at the gap."""
    times = np.r_[np.arange(15_000.0), np.arange(20_000.0, 35_000.0)]
    values = 80.0 + 0.1 * np.sin(times)
    values[7_321] = 120.0
    log = clean(times, {"pot": values})
    log.values["pot"][:] = values  # as if it were not set aside

    points = _points(log, log.values["pot"])

    assert 120.0 in [value for _, value in points]
    assert next(value for hour, value in points if hour == pytest.approx(20_000 / 3600)) is None
    assert len(points) < 700
    first, last = points[0][0], points[-1][0]
    assert (first, last) == (0.0, pytest.approx(34_999 / 3600))


def test_a_parrot_without_temperature_is_shown_as_read():
    """Nothing is corrected with a temperature that was not measured."""
    times = 60.0 * np.arange(120)
    log = clean(times, {PARROT: 80.0 - 0.01 * (np.arange(120) % 7)})

    used, _ = _series(log, log.values, RunCurve(120, 60.0, first_drop_s=0.0, end_s=7000.0))

    assert set(used) == {PARROT}
