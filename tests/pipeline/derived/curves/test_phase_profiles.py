"""Places of a run by phase, what is averaged at each, and how runs are laid side by side: on runs that can be counted.

The run: heated for 1200 s, hearts for 4000 s, tails for 1200 s, so that every one of the 12, 40 and 12 places is 100 s.
"""

from dataclasses import replace

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.phase_profiles import TAGS, edges, floors, profile, stacked, times_of_places
from gaugebook.pipeline.derived.curves.records import COLUMN, FLOW, POT, REFLUX, STRENGTH, VAPOUR, Cut, RunCurve

CURVE = RunCurve(65, 100.0, heat_from_s=0.0, first_drop_s=1200.0, hearts_to=Cut(5200.0, 30.0), end_s=6400.0)
UNCUT = replace(CURVE, hearts_to=Cut())


def test_a_cut_that_the_curve_does_not_show_joins_its_neighbours():
    """The hearts then last to the end; a phase without length is none."""
    assert edges(CURVE) == [("heating", 0.0, 1200.0), ("hearts", 1200.0, 5200.0), ("tails", 5200.0, 6400.0)]
    assert edges(UNCUT) == [("heating", 0.0, 1200.0), ("hearts", 1200.0, 6400.0)]
    assert edges(replace(UNCUT, heat_from_s=1200.0)) == [("hearts", 1200.0, 6400.0)]


def test_places_lie_in_the_middle_of_their_stretches():
    """At 50, 150, ... 6350 s; without the cut hearts of 5200 s have a place every 130 s from 1265 s on."""
    assert times_of_places(CURVE) == pytest.approx(50.0 + 100.0 * np.arange(64))
    assert times_of_places(UNCUT)[12:52] == pytest.approx(1265.0 + 130.0 * np.arange(40))
    assert np.isnan(times_of_places(UNCUT)[52:]).all()


def test_a_place_has_the_mean_of_what_was_measured_in_its_stretch():
    """Rows 20 and 60 s into each stretch that show the time: 40 s in; with one of them left out the other; what is
    measured before the heating and after the end belongs to no place."""
    times = np.sort(np.concatenate([100.0 * np.arange(-2, 66) + 20.0, 100.0 * np.arange(-2, 66) + 60.0]))
    shown = np.where(times == 1260.0, np.nan, times)
    shown[(times > 3000.0) & (times < 3100.0)] = np.nan

    of_run = profile(times, {POT: shown, FLOW: np.full(times.size, np.nan), "steam_kg_h": times}, CURVE)

    expected = 40.0 + 100.0 * np.arange(64)
    expected[12], expected[30] = 1220.0, np.nan
    assert list(of_run) == [POT]
    assert of_run[POT] == pytest.approx(expected, nan_ok=True)


def test_a_row_on_the_border_belongs_to_the_place_before_it():
    """A row each hundred seconds: the first place has that of 100 s, and that of 0 s stands before it."""
    times = 100.0 * np.arange(65)

    assert profile(times, {VAPOUR: times}, CURVE)[VAPOUR] == pytest.approx(100.0 + 100.0 * np.arange(64))


def test_without_a_phase_there_is_nothing_at_its_places():
    """A log without tails, one that began after the heating, and one that shows no phase."""
    times = 20.0 + 10.0 * np.arange(640)
    unheated = profile(times, {VAPOUR: times}, replace(CURVE, heat_from_s=np.nan))[VAPOUR]

    assert np.isnan(profile(times, {VAPOUR: times}, UNCUT)[VAPOUR][52:]).all()
    assert np.isfinite(profile(times, {VAPOUR: times}, UNCUT)[VAPOUR][:52]).all()
    assert np.isnan(unheated[:12]).all() and np.isfinite(unheated[12:]).all()
    assert np.isnan(profile(times, {VAPOUR: times}, RunCurve(640, 10.0))[VAPOUR]).all()


def test_runs_stand_in_rows_and_tags_one_after_another():
    """Pot, column, vapour, strength, flow, reflux, 64 places each; a tag that a run lacks leaves its places open."""
    rows = stacked([{POT: tuple(range(64)), FLOW: (5.0,) * 64}, {}])

    assert TAGS == (POT, COLUMN, VAPOUR, STRENGTH, FLOW, REFLUX)
    assert rows.shape == (2, 6 * 64)
    assert rows[0, :64].tolist() == list(range(64))
    assert rows[0, 4 * 64 : 5 * 64].tolist() == [5.0] * 64
    assert np.isnan(rows[0, 64 : 4 * 64]).all() and np.isnan(rows[0, 5 * 64 :]).all() and np.isnan(rows[1]).all()


def test_flow_and_reflux_differ_by_a_part_of_their_mean():
    """0.3 K and 0.3 % vol; 3 % of the mean size of 60 and -20 L/h, which is 40; of a reflux that nobody logged 3 %."""
    rows = np.full((2, 6 * 64), np.nan)
    rows[0, 4 * 64 : 5 * 64], rows[1, 4 * 64 : 5 * 64] = 60.0, -20.0

    assert floors(rows) == pytest.approx([0.3] * (4 * 64) + [1.2] * 64 + [0.03] * 64)
