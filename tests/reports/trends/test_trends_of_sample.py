"""The trends of the sample distillery tell what was planted in it, and nothing else beyond chance.

The truth is in sample_logs/planted_faults.toml and sample_logs/generator/faults.py.
"""

import re
import tomllib
from datetime import date, timedelta
from pathlib import Path

import pytest

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.intake.flow import profile_in_force
from gaugebook.reports.trends.events import events, headline
from gaugebook.reports.trends.measures import Trends
from gaugebook.reports.trends.trend_tables import tables
from gaugebook.reports.trends.trends import keys, trends_html
from gaugebook.reports.trends.trends_gather import gather_trends
from sample_logs.generator.faults import FALL_FROM, FALL_TO

PLANTED = Path(__file__).parents[3] / "sample_logs" / "planted_faults.toml"


@pytest.fixture(scope="module")
def trends(sample_book) -> Trends:
    """The trends of the sample."""
    with open_book(sample_book) as book:
        return gather_trends(book, profile_in_force(book))


def plain(page: str) -> str:
    """A page without the marks that keep a number and its unit on one line."""
    return re.sub(r"</?(span|data)[^>]*>", "", page)


def planted(rule: str) -> set[str]:
    """Records that the planted faults of a rule name."""
    faults = tomllib.loads(PLANTED.read_text(encoding="utf-8"))["faults"]
    return {record for fault in faults if fault["rule"] == rule for record in fault["records"]}


def test_slow_fall_is_found_dated_and_placed(trends):
    """The fall of recovery is told of S2 and of no other still, begins within two weeks of the truth, ends with it."""
    [finding] = [f for f in trends.findings if f.chart.startswith("strip_recovery")]
    assert trends.chart(finding.chart).group.startswith("S2")
    assert finding.shape == "slope" and finding.good is False
    assert abs(finding.since.date() - FALL_FROM) <= timedelta(days=14)
    assert finding.since_low.date() <= FALL_FROM + timedelta(days=7)
    assert finding.until is not None and finding.until.date() == FALL_TO
    assert planted("strip-recovery") <= {
        point.run for point in trends.chart(finding.chart).points if finding.since <= point.when <= finding.until
    }
    assert finding.reached == pytest.approx(-8.0, abs=1.0)  # percentage points by the last run
    assert finding.causes == ()  # no malt lot or operator is to blame
    assert "S1" in finding.sentence


def test_worth_of_the_fall(trends):
    """What the fall is worth is the alcohol that these runs lack, within its uncertainty of the planted amount."""
    [finding] = [f for f in trends.findings if f.chart.startswith("strip_recovery")]
    points = [p for p in trends.chart(finding.chart).points if finding.since <= p.when <= finding.until]
    days = (FALL_TO - FALL_FROM).days
    lost = sum(0.08 * (p.when.date() - FALL_FROM).days / days * p.denominator for p in points)
    assert finding.alcohol_l == pytest.approx(-lost, abs=3 * finding.u_alcohol_l)


def test_poor_malt_lot_is_named(trends):
    """The dip of the yield is told of the five planted ferments, and the poor malt lot alone is named as its cause."""
    [finding] = [f for f in trends.findings if f.chart.startswith("yield_against_prediction")]
    runs = {p.run for p in trends.chart(finding.chart).points if finding.since <= p.when <= finding.until}
    assert runs == planted("mash-yield")
    [cause] = finding.causes
    assert (cause.attribute, cause.level, cause.inside, cause.outside, cause.alike) == (
        "malt lot", "RYE-2601A", 5, 0, ()
    )  # fmt: skip
    assert "RYE-2601A" in finding.sentence
    assert "mash_efficiency:rye-oat mash" in finding.with_charts


def test_charts_that_remember_confirm_the_fall(trends):
    """The CUSUM dates the fall within two weeks of the truth and the EWMA leaves its limits while it lasts."""
    [finding] = [f for f in trends.findings if f.chart.startswith("strip_recovery")]
    assert abs(finding.dating.cusum_from.date() - FALL_FROM) <= timedelta(days=14)
    assert FALL_FROM <= finding.dating.ewma_at.date() <= FALL_TO


def test_averages_beyond_chance_are_told_elsewhere(trends):
    """Where no change and no single run is told, averages lie beyond their limits no oftener than chance explains."""
    told = {item.chart for item in (*trends.findings, *trends.lone_runs)}
    averages = [chart.average for chart in trends.charts if chart.average and chart.key not in told]
    by_chance = sum(average.by_chance for average in averages)
    assert len(averages) > 5
    assert sum(bool(average.beyond) for average in averages) <= by_chance + 2 * by_chance**0.5


def test_fills_are_judged_by_their_samples(trends):
    """Means and standard deviations of the fills have X-bar and s limits, the short-filled batch beyond both."""
    for key, kind in (("fill_deviation", "means"), ("fill_scatter", "spreads")):
        chart = trends.chart(key)
        assert (chart.limits.kind, chart.limits.size) == (kind, 50)
        assert {point.batch for point in chart.alarms} == planted("fill-average")
    page = trends_html(trends)
    assert "X-bar, mean of each sample" in page and "standard deviation within each sample" in page


def test_prediction_stands_beside_the_yield(trends):
    """Each ferment's predicted yield is the one that its yield against prediction rests on, and the page draws it."""
    against = {point.run: point for point in trends.chart("yield_against_prediction:rye-oat mash").points}
    for point in trends.chart("yield_l_per_t:rye-oat mash").points:
        assert point.value / point.predicted == pytest.approx(against[point.run].value / 100)
    assert "Dotted: predicted from extract or sugar" in trends_html(trends)


def test_right_first_time_says_what_it_rests_on(trends):
    """Nothing is decided in the sample, which the page says; the batches with a stopping flag were not right."""
    assert "47 of 47 batches have no decision" in trends.notes["right_first_time"]
    assert sum(point.value == 0 for point in trends.chart("right_first_time").points) == trends.standings["stopped"]


def test_every_finding_is_of_a_planted_fault(trends):
    """All findings are of the two events; S2's other charts and the mash show the same runs again."""
    for finding in trends.findings:
        chart = trends.chart(finding.chart)
        if chart.measure.stage == "strip":
            assert chart.group.startswith("S2")
            assert date(2026, 2, 1) <= finding.since.date() and finding.until.date() == FALL_TO
        else:
            assert [cause.level for cause in finding.causes] == ["RYE-2601A"]
    assert len(events(trends)) == 2


def test_lone_runs_are_planted(trends):
    """The single runs told are the over-reduced batch (twice: tank and laboratory) and the short fills."""
    told = {run.batch for run in trends.lone_runs}
    assert told == planted("label-strength") | planted("fill-average")


def test_no_alarm_beyond_chance(trends):
    """What is neither told nor planted is no more than chance gives in nineteen of twenty stable houses."""
    assert trends.alarms_untold <= trends.alarms_by_chance_most
    assert 5 < trends.alarms_by_chance < 20
    assert trends.alarms_seen > trends.alarms_by_chance_most


def test_limits_rest_on_their_baseline_alone(trends):
    """No limit of a chart rests on a run after its baseline, and a chart that fell kept its limits."""
    for chart in trends.charts:
        if chart.limits is not None:
            inside = [point for point in chart.points if point.in_baseline]
            assert len(inside) == chart.limits.points
            assert all(point.when <= chart.limits.last for point in inside)
            assert chart.limits.centre == pytest.approx(sum(p.value for p in inside) / len(inside), rel=0.05, abs=0.5)


def test_unstable_process_has_no_capability(trends):
    """The label strength with its over-reduced batch gets no capability, and says why."""
    chart = trends.chart("label_deviation")
    assert chart.capability is None
    assert "not stable" in chart.why_no_capability


def test_what_cannot_be_told_apart_is_said(trends):
    """Malt lots follow each other through the year, so malt lot and season are told to be confounded."""
    breakdown = next(b for b in trends.breakdowns if b.measure == "yield_against_prediction")
    most = breakdown.shares[0]
    assert most.attribute == "malt lot" and most.alone > 0.7
    assert "season" in most.confounded_with


def test_every_measure_is_there(trends):
    """No measure lacks figures in the sample, months are ratios of sums, and the month at a glance is filled."""
    assert trends.empty == ()
    chart = trends.chart("strip_recovery:S1")
    month = chart.months[-1]
    points = [p for p in chart.points if p.when.strftime("%Y-%m") == f"{month.month:%Y-%m}"]
    assert month.value == pytest.approx(100 * sum(p.numerator for p in points) / sum(p.denominator for p in points))
    assert {key.chart.measure.code for key in keys(trends)} >= {"yield_against_prediction", "strip_recovery"}


def test_points_lead_to_batches(trends):
    """Nearly every strip run leads to the batch that most of it went to."""
    points = trends.chart("strip_recovery:S1").points
    assert sum(bool(point.batch) for point in points) > 0.8 * len(points)
    assert all(point.batch for point in trends.chart("fill_deviation").points)


def test_page_says_it(trends):
    """The first page names still, dates, malt lot and batches."""
    page = plain(trends_html(trends))
    front = page[: page.index('id="measure-0"')]
    for words in ("S2, rye-oat mash fell slowly", "2026-03-20", "RYE-2601A", "VOD-2602A", "AKV-2609B", "VOD-2610A"):
        assert words in front


def test_changes_are_counted_once(trends):
    """The first page's headline counts the changes of its table and the charts that show them, and the single runs; of
    the sample the two that were planted, the fall on S2 and the poor malt lot."""
    told = re.fullmatch(
        r"(\d+) changes that chance does not explain, seen on (\d+) charts(?:; (\d+) single runs? far off)?\.",
        headline(trends),
    )
    assert told, headline(trends)
    seen = [chart.key for event in events(trends) for chart in (event.chart, *event.also)]
    assert (int(told[1]), int(told[2])) == (len(events(trends)), len(set(seen)))
    assert int(told[1]) == 2 and len(seen) == len(set(seen))
    assert set(seen) == {finding.chart for finding in trends.findings}
    assert int(told[3] or 0) == len(trends.lone_runs)
    assert headline(trends) in plain(trends_html(trends))


def test_no_mean_mixes_what_is_not_alike(trends):
    """What is laid year over year is of one recipe or product over the stills that ran it: apple spirit, which comes at
    another strength than that of grain, has no part in it."""
    for code, streams in trends.together.items():
        charts = [chart for chart in trends.charts if chart.measure.code == code]
        for name, months in streams.items():
            own = [p for c in charts for p in c.points if not name or name in (p.recipe, p.product)]
            assert sum(month.runs for month in months) == len(own)
            assert len({point.still for point in own}) > 1
            assert name or code == "utilisation"
    assert set(trends.together["strip_hearts_strength"]) == {"rye-oat mash"}
    strengths = [m.value for m in trends.together["strip_hearts_strength"]["rye-oat mash"]]
    assert min(strengths) > 70  # % vol: no month of it holds apple spirit, which is far weaker (31 to 34 % vol)
    assert "all together" not in trends_html(trends)


def test_a_house_without_casks_shows_nothing_of_them(trends):
    """No page, chart, table or note of casks or dispatches, which this house has not."""
    page = trends_html(trends)
    assert trends.stock == ()
    assert "stock_in_casks" not in tables(trends)
    assert all(chart.measure.is_everywhere for chart in trends.charts)
    for words in ("Stock in casks", "Evaporation in casks", "dispatched", "In casks"):
        assert words not in page
