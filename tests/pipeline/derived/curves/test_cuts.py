"""When the receiver was changed, on a run that can be added up: an hour of 60 L/h at 80 % vol, a row a minute.

The receivers hold 10, 40 and 10 L, so the cuts are at 600 and 3000 s. Receivers differ by 0.2 % in what is lost on the
way, and mixing shrinks hearts by 0.03 and tails by 0.3 %: both stand beside the gauges' own uncertainty, here nought.
"""

from dataclasses import replace

import numpy as np
import pytest

from gaugebook.pipeline.derived.curves.averaged_log import Course
from gaugebook.pipeline.derived.curves.cuts import _between_rows, _Held, _rates, _risen, _u_of_log, cuts
from gaugebook.pipeline.derived.curves.records import Circumstances, Cut, Gauged
from gaugebook.pipeline.engineering.run_curve import collected
from gaugebook.pipeline.statistics.phases import Phases

TIMES = 60.0 * np.arange(61)
WHEN = Phases(-1800.0, -600.0, 0.0, 17.0, 3600.0, 17.0, 2.0)
FLOW, VAPOUR = "distillate_flow_l_h", "vapour_temperature_c"


def course_with(flow=60.0, strength=80.0, resets=(), counter=None, **values):
    """The run, with other values."""
    flow, strength = (np.broadcast_to(np.asarray(given, dtype=float), 61).copy() for given in (flow, strength))
    total = collected(TIMES, flow, strength, counter)
    return Course(TIMES, {FLOW: flow, **values}, strength, np.full(61, 0.2), total, list(resets))


def held(**litres):
    """What the receivers hold, at 80 % vol."""
    gauged = {
        part: Gauged(volume_l=volume, u_volume_l=0.0, alcohol_l=0.8 * volume, u_alcohol_l=0.0)
        for part, volume in litres.items()
    }
    return Circumstances(gauged=gauged, u_flow_part=0.01, u_strength_pct_vol=0.2)


ALL = held(heads=10.0, hearts=40.0, tails=10.0)


def expected_cut(cut):
    return (pytest.approx(cut[0], rel=1e-4), pytest.approx(cut[1], rel=1e-3), cut[2])


def shown_cut(cut):
    return (cut.at_s, cut.u_s, cut.by)


def test_all_receivers_gauged_tell_both_cuts():
    """By alcohol, which mixing does not shrink: 8 of 48 LPA, u of the part sqrt((40 u8)^2 + (8 u40)^2) / 48^2 with
    u8 = 0.016 and u40 = sqrt(0.064^2 + 0.016^2) LPA, times 48 LPA at 0.8 LPA a minute; of the tails likewise."""
    part = np.hypot(40 * 0.016, 8 * np.hypot(0.064, 0.016)) / 48**2

    from_heads, to_tails = cuts(course_with(), WHEN, ALL)

    assert shown_cut(from_heads) == expected_cut((600.0, part * 48 / 0.8 * 60, "receivers"))
    assert shown_cut(to_tails) == expected_cut((3000.0, part * 48 / 0.8 * 60, "receivers"))


def test_without_strengths_the_litres_tell_them():
    """10 of 60 L: u of 10, 40 and 10 L is 0.02, sqrt(0.08^2 + 0.012^2) and sqrt(0.02^2 + 0.03^2) L."""
    u = [0.02, np.hypot(0.08, 0.012), np.hypot(0.02, 0.03)]
    first = np.hypot(50 * u[0], 10 * np.hypot(u[1], u[2])) / 60**2
    second = np.hypot(10 * np.hypot(u[0], u[1]), 50 * u[2]) / 60**2

    from_heads, to_tails = cuts(course_with(strength=np.nan), WHEN, ALL)

    assert shown_cut(from_heads) == expected_cut((600.0, first * 60 * 60, "receivers"))
    assert shown_cut(to_tails) == expected_cut((3000.0, second * 60 * 60, "receivers"))


def test_one_receiver_gauged_is_counted_from_its_side():
    """10 L of which 1 % was lost are 10.101 L that ran; its u is that of the flow, 1 %, and of the loss, 0.6 %. The
    heads tell the first cut from the begin, the tails the second from the end; nothing tells the others."""
    ran = 10 / 0.99
    of_flow = np.hypot(0.01, 0.006)
    no_strength = course_with(strength=np.nan)

    heads, nothing = cuts(no_strength, WHEN, held(heads=10.0))
    before, tails = cuts(no_strength, WHEN, held(tails=10.0))

    assert shown_cut(heads) == expected_cut((60 * ran, 60 * np.hypot(0.02, of_flow * ran), "receivers"))
    assert shown_cut(tails) == expected_cut(
        (3600 - 60 * ran, 60 * np.hypot(np.hypot(0.02, 0.03), of_flow * ran), "receivers")
    )
    assert np.isnan([nothing.at_s, before.at_s]).all()
    assert (nothing.by, before.by) == ("", "")


def test_a_parrot_that_may_show_too_much_moves_what_is_counted_by_alcohol():
    """8.0808 LPA before the end at 80 or 80.2 % vol: 10.1010 or 10.0758 L, so 1.51 s beside what 0.0956 LPA take."""
    ran = 8 / 0.99
    u = np.hypot(0.016, np.hypot(0.01, 0.006) * ran)
    apart = 60 * (ran / 0.8 - ran / 0.802)

    _, tails = cuts(course_with(), WHEN, held(tails=10.0))

    assert shown_cut(tails) == expected_cut((3600 - 60 * ran / 0.8, np.hypot(u / 0.8 * 60, apart), "receivers"))


def test_receivers_that_hold_all_that_ran_leave_no_tails():
    """Heads and hearts are gauged and hold 60 L: 0.6 L more than ran, of which u is 0.71 L; the cut is the end."""
    u = np.linalg.norm([0.02, 0.1, 0.015, np.hypot(0.01, 0.006) * 60 / 0.99])
    no_strength = course_with(strength=np.nan)

    _, at_end = cuts(no_strength, WHEN, held(heads=10.0, hearts=50.0))
    _, too_much = cuts(no_strength, WHEN, held(heads=10.0, hearts=52.0))

    assert shown_cut(at_end) == expected_cut((3600.0, 60 * u, "end of the run"))
    assert too_much == Cut() or np.isnan(too_much.at_s)


def test_where_litres_and_alcohol_differ_the_litres_are_told_with_both():
    """12 LPA in the heads would be 12 of 52, at 830.8 s; the litres say 600 s."""
    strong = replace(ALL.gauged["heads"], alcohol_l=12.0)

    from_heads, _ = cuts(course_with(), WHEN, replace(ALL, gauged=ALL.gauged | {"heads": strong}))

    assert from_heads.at_s == pytest.approx(600.0)
    assert from_heads.u_s == pytest.approx(3600 * 12 / 52 - 600, rel=1e-3)


def test_a_counter_set_back_twice_shows_both_cuts():
    """Known to the row, and to the 20 s by which a hand is beside the other; once it shows that to the tails alone."""
    u = np.hypot(60 / 12**0.5, 20.0)

    both = cuts(course_with(resets=[630.0, 3030.0]), WHEN, Circumstances())
    last = cuts(course_with(resets=[3030.0]), WHEN, Circumstances())

    assert [shown_cut(cut) for cut in both] == [
        expected_cut((630.0, u, "counter set back")), expected_cut((3030.0, u, "counter set back")),
    ]  # fmt: skip
    assert (last[0].by, shown_cut(last[1])) == ("", expected_cut((3030.0, u, "counter set back")))


@pytest.mark.parametrize(("minute", "by"), [(20, ""), (50, "change of flow")])
def test_a_step_of_the_flow_in_the_second_half_is_the_cut_to_tails(minute, by):
    """From 60 to 50 L/h, with nothing else to go by; one in the first half may be anything, and heads leave none."""
    flow = np.where(np.arange(61) < minute, 60.0, 50.0) + 0.05 * np.sin(np.arange(61.0) ** 2)

    from_heads, to_tails = cuts(course_with(flow), WHEN, Circumstances())

    assert (from_heads.by, to_tails.by) == ("", by)
    if by:
        assert to_tails.at_s == pytest.approx(60.0 * minute - 30.0, abs=5.0)
        assert to_tails.u_s == pytest.approx(np.hypot(60 / 12**0.5, 20.0), rel=0.1)


@pytest.mark.parametrize(
    ("size", "tag", "by"),
    [
        (6.0, "strength", "change of strength"), (4.0, "strength", ""),
        (1.2, VAPOUR, "change of temperature"), (0.8, VAPOUR, ""),
        (0.05, FLOW, "change of flow"), (0.03, FLOW, ""),
    ],
)  # fmt: skip
def test_how_great_a_step_must_be(size, tag, by):
    """5 % vol, 1 K, 4 % of the flow; an upward step counts as a downward one."""
    step = np.where(np.arange(61) < 50, 0.0, size)
    wave = np.sin(np.arange(61.0) ** 2)
    course = {
        "strength": lambda: course_with(strength=80.0 - step + 0.05 * wave),
        VAPOUR: lambda: course_with(**{VAPOUR: 80.0 + step + 0.005 * wave}),
        FLOW: lambda: course_with(flow=60.0 * (1 + step) + 0.005 * wave),
    }[tag]()

    assert cuts(course, WHEN, Circumstances())[1].by == by


def test_steps_sharpen_what_the_receivers_tell():
    """A flow turned down at 2970 s, and receivers that say 3000 s: told between them; far away it means nothing."""
    wave = 0.05 * np.sin(np.arange(61.0) ** 2)

    def cut_with_step(minute, **litres):
        flow = np.where(np.arange(61) < minute, 60.0, 55.0) + wave
        return cuts(course_with(flow, strength=np.nan), WHEN, held(**litres))[1]

    beside = cut_with_step(50, tails=10 / 60 * 55 * 0.99)
    far = cut_with_step(30, tails=10 / 60 * 55 * 0.99)
    assert far.at_s == pytest.approx(3000.0, abs=0.5)
    assert 2970.0 < beside.at_s < far.at_s - 1.0


def test_what_happens_between_rows():
    """A change of 0.1 L/s over 60 s is a rectangle: (0.1 x 60)^2 / 12 = 3. Great changes that follow each other the
    same way bend alike, so the second stands with 2 u u more; not where it turns, nor where it is below a tenth."""
    lengths = np.full(4, 60.0)

    assert _between_rows(np.array([0.1, 0.1, -0.1, 0.0]), lengths) == pytest.approx([3.0, 9.0, 3.0, 0.0])
    assert _between_rows(np.array([0.1, 0.009, 0.02, 0.0]), lengths) == pytest.approx([3.0, 0.0243, 0.12, 0.0])
    assert _between_rows(np.array([-0.1, -0.1]), lengths[:2]) == pytest.approx([3.0, 9.0])
    assert _between_rows(np.zeros(2), lengths[:2]).tolist() == [0.0, 0.0]


def test_rates_are_carried_over_rows_without_a_value():
    """60 and 30 L/h with one row between them at 45; at 80 and 60 % vol with 70 between them."""
    flow, strength = np.full(61, 60.0), np.full(61, 80.0)
    flow[31:], strength[31:] = 30.0, 60.0
    flow[30] = strength[30] = np.nan
    course = course_with(flow, strength)

    assert _rates(course, by_alcohol=False)[[29, 30, 31]] == pytest.approx([60 / 3600, 45 / 3600, 30 / 3600])
    assert _rates(course, by_alcohol=True)[[29, 30, 31]] == pytest.approx([48 / 3600, 31.5 / 3600, 18 / 3600])


def with_gap(column):
    column[31:40] = np.nan
    return column


def test_a_bridged_gap_makes_times_beside_it_unsure():
    """10 L run over the gap, u 5 % of it: 0.5 L. A fifth of that stands before a cut that lies after it, four fifths
    after a cut that lies before it; at 1 L a minute 6 and 24 s. By alcohol the times are the same."""
    course = course_with(flow=with_gap(np.full(61, 60.0)))
    litres = _Held(course.total.volume_l, [], [], by_alcohol=False)
    alcohol = _Held(course.total.alcohol_l, [], [], by_alcohol=True)

    for measure in (litres, alcohol):
        assert _u_of_log(course, measure, 600.0, 0.8, 0.2) == pytest.approx(6.0, rel=1e-3)
        assert _u_of_log(course, measure, 3000.0, 0.8, 0.2) == pytest.approx(24.0, rel=1e-3)
        assert _u_of_log(course, measure, 600.0, 1.0, 0.0) == pytest.approx(0.0, abs=1e-6)


def test_noise_and_a_row_that_dips_make_times_unsure():
    """One row of 30 L/h: down and up again are 2 x 0.5^2 / 12 L2, for they do not bend alike. The last digit of the
    flow is then 30 L/h, 0.1443 of it as a rectangle: 0.0208 L2 for each litre that ran between rows. Behind 600 s are
    49 of these, a quarter of one and the dip; the row itself counts in full."""
    flow = np.full(61, 60.0)
    flow[45] = 30.0
    course = course_with(flow=flow)
    litres = _Held(course.total.volume_l, [], [], by_alcohol=False)
    noise, dip = (30 / 12**0.5 / 60) ** 2, 2 * 0.5**2 / 12

    assert _u_of_log(course, litres, 600.0, 0.0, 1.0) == pytest.approx(
        60 * (49.25 * noise + dip + noise) ** 0.5, rel=1e-3
    )
    assert _u_of_log(course, litres, 600.0, 1.0, 0.0) == pytest.approx(60 * (10 * noise) ** 0.5, rel=1e-3)


@pytest.mark.parametrize(("missing", "by"), [(0, "change of flow"), (2, "change of flow"), (6, "")])
def test_a_step_across_a_long_gap_is_not_seen(missing, by):
    """From 60 to 50 L/h; two rows are looked through, six leave open when it was."""
    flow = np.where(np.arange(61) < 45, 60.0, 50.0) + 0.05 * np.sin(np.arange(61.0) ** 2)
    flow[45 - missing // 2 : 45 + missing // 2] = np.nan

    assert cuts(course_with(flow), WHEN, Circumstances())[1].by == by


def test_a_gap_behind_a_cut_counts_by_the_part_that_lies_behind():
    """All receivers gauged: u of 0.5 L over a gap between the cuts moves each by a sixth of it, 5 s at 1 L a minute,
    beside what the gauges leave."""
    by_gauges = np.hypot(40 * 0.016, 8 * np.hypot(0.064, 0.016)) / 48**2 * 48 / 0.8 * 60

    for cut, at in zip(cuts(course_with(flow=with_gap(np.full(61, 60.0))), WHEN, ALL), (600.0, 3000.0), strict=True):
        assert shown_cut(cut) == expected_cut((at, np.hypot(by_gauges, 5.0), "receivers"))


def test_a_flow_that_dies_away_is_no_cut():
    """Over the last eight minutes, to a sixth; nor is one that grows over the first eight."""
    wave = 0.05 * np.sin(np.arange(61.0) ** 2)
    dying = np.minimum(60.0, 10.0 + 6.25 * np.arange(60, -1, -1)) + wave

    assert [cut.by for cut in cuts(course_with(dying), WHEN, Circumstances())] == ["", ""]
    assert [cut.by for cut in cuts(course_with(dying[::-1]), WHEN, Circumstances())] == ["", ""]


def test_a_bridged_strength_makes_alcohol_unsure_and_litres_not():
    """From 80 to 70 % vol over ten minutes: 10 % / (2 sqrt(3)) of 10 L, 0.2887 LPA, added up without signs. The ten
    changes of 1 % vol a minute between the rows give sqrt(28) x 0.01 / sqrt(12) LPA beside it."""
    strength = with_gap(np.where(np.arange(61) < 35, 80.0, 70.0))
    course = course_with(strength=strength)
    litres = _Held(course.total.volume_l, [], [], by_alcohol=False)
    alcohol = _Held(course.total.alcohol_l, [], [], by_alcohol=True)
    u = np.hypot(0.1 * 10 / 12**0.5, 28**0.5 * 0.01 / 12**0.5)

    assert _u_of_log(course, alcohol, 600.0, 0.0, 0.2) == pytest.approx(0.2 * u / 0.8 * 60, rel=1e-3)
    assert _u_of_log(course, alcohol, 3000.0, 0.5, 0.0) == pytest.approx(0.5 * u / 0.7 * 60, rel=1e-3)
    assert _u_of_log(course, litres, 600.0, 0.0, 0.2) == pytest.approx(0.0, abs=1e-6)


def test_a_still_that_starts_does_not_count_as_a_change():
    """Five rows that rise by 2 each, then level with noise; one row that falls; and too few rows to say."""
    level = 60.0 + 0.01 * np.sin(np.arange(40.0) ** 2)

    assert _risen(np.concatenate([50.0 + 2.0 * np.arange(5), level]), 1.0) == 5
    assert _risen(level, 1.0) == 0
    assert _risen(np.array([1.0, np.nan, 5.0, np.nan]), 1.0) == 0
    assert _risen(2.0 * np.arange(40.0), 1.0) == 0  # never settled: nothing is left out
