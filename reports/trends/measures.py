"""What the trends are made of: the records that report, tables and board are drawn from.

`gather_trends(book, house)` of `trends_gather` returns one `Trends`; it is the whole interface, and nothing that reads
it asks the book again. A `Chart` is one measure of one group (a still, a recipe, a product; "" where there is one
process only): its points by run or batch, its months as ratios of sums, the limits frozen on its baseline, and how many
alarms chance alone would give. A `Finding` is a change that chance does not explain over all charts of the report
together; a `LoneRun` is one run or batch so far out that chance does not explain it either. A `Breakdown` says how much
of a chart's scatter goes with still, malt lot, recipe, operator and season.

Numbers are in the unit of the measure (a fraction is already per cent), NaN where there is none; times are UTC without
zone, as in the book; months are of the house's calendar. `key` is unique in a report and fit for an address
("strip_recovery:S2").
"""

import math
from dataclasses import dataclass, field
from datetime import date, datetime

from gaugebook.pipeline.house.settings import House
from gaugebook.reports.trends.average_records import Average, Dating, Sums
from gaugebook.reports.warehouse.stock import StockMonth


@dataclass(frozen=True)
class Measure:
    """What is measured, and what it rests on.

    Attributes
    ----------
    code, name, unit : str
        As in files, as printed, as printed
    stage : str
        Where in the house: mash, ferment, strip, rectify, botanical, reduce, bottle, house, cask, dispatch
    better : str
        "higher", "lower" or "target" (as near to `target` as can be)
    definition : str
        One sentence: numerator over denominator
    source : str
        The derived table and columns
    group_kind : str
        What its charts are kept apart by: "still", "recipe", "product", "casks", "duty_status", or "" where there is
        one chart
    of_what : str
        What one point is: "run", "batch", "gauging" (casks gauged on one day) or "dispatch"
    decimals : int
        As printed
    target : float or None
        In the unit; only where better is "target"
    alcohol : str
        "gained" or "lost" where the numerator is LPA, so that a change times the denominator is what it is worth; ""
        where it is worth none
    watched : bool
        Whether changes and alarms are looked for; not where the plan or the grain's own certificate moves the figure
    adds_up : bool
        Whether a month is the sum of its points, where others are ratios of sums
    """

    code: str
    name: str
    unit: str
    stage: str
    better: str
    definition: str
    source: str
    group_kind: str = ""
    of_what: str = "run"
    decimals: int = 1
    target: float | None = None
    alcohol: str = ""
    watched: bool = True
    adds_up: bool = False

    @property
    def points(self) -> str:
        """Several of what a point is."""
        return f"{self.of_what}es" if self.of_what.endswith("ch") else f"{self.of_what}s"

    @property
    def is_everywhere(self) -> bool:
        """Whether every house has it: one without casks, or that sends nothing out, misses nothing."""
        return self.stage not in ("cask", "dispatch")


@dataclass(frozen=True)
class Point:
    """One run or batch.

    Attributes
    ----------
    run : str
        The run; for a measure of batches, the bottling run
    batch : str
        The batch; for a measure of runs, that to which most of it went, "" where none is bottled yet
    when : datetime
        End of the run, or when the batch was bottled [UTC]
    value, u : float
        With the standard uncertainty of the measurement, NaN where it is not known [unit of the measure]
    numerator, denominator : float
        Weights of the ratio of sums; value = factor x numerator / denominator
    still, recipe, operator, product, casks, duty_status : str
        "" where it has none; `still` is any equipment, `casks` the warehouse and size of those gauged
    malt_lots : tuple of str
        Lots of grain, fruit or sugar in the run; empty where that is not known or means nothing
    in_baseline : bool
        Whether the limits rest on it
    signals : tuple of str
        Names of the run rules that it completes, of `RULES`; empty for most, and always in the baseline
    size : int
        Values that the point stands for: bottles of a sample
    predicted : float
        What was to be expected of this run by its grain, NaN where nothing is predicted [unit of the measure]
    """

    run: str
    batch: str
    when: datetime
    value: float
    u: float
    numerator: float
    denominator: float
    still: str = ""
    recipe: str = ""
    operator: str = ""
    product: str = ""
    malt_lots: tuple[str, ...] = ()
    in_baseline: bool = False
    signals: tuple[str, ...] = ()
    size: int = 1
    predicted: float = math.nan
    casks: str = ""
    duty_status: str = ""


@dataclass(frozen=True)
class Month:
    """One month as a ratio of sums, or as a sum; value is NaN where no run has a figure, u where fewer than `FEW` have.

    A month without any run does not stand in the list: it is a gap.
    """

    month: date
    value: float
    u: float  # standard error from the scatter between runs
    runs: int
    left_out: int  # ended, but without a figure


@dataclass(frozen=True)
class Limits:
    """Centre and limits of a chart, frozen on its baseline.

    Attributes
    ----------
    kind : str
        "individuals"; "proportion" (then lower and upper are of the mean denominator; each point has its own); "means"
        or "spreads" of samples (X-bar and S chart: lower and upper are of a sample of mean size)
    centre, lower, upper, sd : float
        sd is the short-term one, from the mean moving range or the scatter within samples [unit of the measure]
    points : int
        Number of values that they rest on
    first, last : datetime
        When the first and the last run of the baseline ended [UTC]
    provisional : bool
        Whether the baseline is only the first runs, which nobody has reviewed
    reviewed_by, reviewed_at, reason : str
        Of the house profile; empty where provisional
    size : int
        Values in a sample of mean size
    """

    kind: str
    centre: float
    lower: float
    upper: float
    sd: float
    points: int
    first: datetime
    last: datetime
    provisional: bool = True
    reviewed_by: str = ""
    reviewed_at: str = ""
    reason: str = ""
    size: int = 1


@dataclass(frozen=True)
class Capability:
    """How a stable process lies to its tolerance; absent where it is not stable or has no tolerance.

    `low` and `high` are a 95 % interval of cpk; lower or upper is NaN where the tolerance has one side only.
    """

    lower: float
    upper: float
    cpk: float
    low: float
    high: float
    points: int


@dataclass(frozen=True)
class Trend:
    """Slope of a chart's points over all its time (Theil and Sen), with the test of Mann and Kendall.

    slope, low and high (95 %) are in the unit of the measure a year; rho is the autocorrelation that p allows for.
    """

    slope: float
    low: float
    high: float
    p: float
    rho: float
    points: int


@dataclass(frozen=True)
class Chart:
    """One measure of one group, run by run and month by month."""

    key: str
    measure: Measure
    group: str  # the still, recipe or product; "" where there is one chart only
    title: str
    points: tuple[Point, ...]  # in order of time; only those with a figure
    months: tuple[Month, ...]
    limits: Limits | None = None  # in force at the end; None: fewer runs than `FEWEST`, or not watched
    earlier_limits: tuple[Limits, ...] = ()  # of reviewed baselines before; each judges the runs up to the next
    p_change: float = math.nan  # that chance alone gives as great a change; NaN: too few runs to look
    p_adjusted: float = math.nan  # over all charts of the report (Holm)
    chance_alarms: float = 0.0  # how many points would signal by chance, as many runs after as long a baseline
    trend: Trend | None = None
    capability: Capability | None = None
    why_no_capability: str = ""
    neighbours: float = math.nan  # correlation of a run's value with that of the run before (autocorrelation)
    average: Average | None = None  # None: too few runs since the baseline, or points that are counts
    sums: Sums | None = None  # of a single series only; in the monthly trends the CUSUM dates what was found

    @property
    def alarms(self) -> tuple[Point, ...]:
        return tuple(point for point in self.points if point.signals)

    def name_of(self, point: Point) -> str:
        """What sentences call a point: its run, or its batch."""
        return point.batch if self.measure.of_what == "batch" else point.run

    @property
    def by_month(self) -> dict[date, Month]:
        return {month.month: month for month in self.months}


@dataclass(frozen=True)
class Cause:
    """What the runs of a change have in common and the others have not."""

    attribute: str  # malt lot, still, operator, recipe
    level: str
    inside: int  # runs of the change that have it
    outside: int  # other runs of the chart that have it
    explains: float  # share of the scatter that it explains by itself, over that which the change explains
    alike: tuple[str, ...] = ()  # "attribute level" that fall on the same runs: they cannot be told apart


@dataclass(frozen=True)
class Finding:
    """A change that chance does not explain.

    Attributes
    ----------
    chart : str
        Key of the chart
    shape : str
        "step" (from one run to the next) or "slope" (more with every run)
    good : bool or None
        Whether it is for the better; None where the measure has a target
    first_run, last_run : str
        First and last run of the changed stretch
    since, until : datetime
        Their ends; until is None where it still holds at the end of the book [UTC]
    since_low, since_high : datetime
        95 % confidence interval of the beginning [UTC]
    before, change, u_change : float
        Level of the other runs; mean of the changed runs less that level; for a slope, `reached` is its greatest
    reached : float
        Change at the last run of the stretch, by the fit
    runs : int
    p, p_adjusted : float
        That chance gives as much on this chart; on any of the report's charts (Holm)
    alcohol_l, u_alcohol_l : float
        What it is worth, negative where alcohol was lost; NaN where it is worth none [LPA]
    batches : tuple of str
        To which alcohol of these runs went, those with most first
    causes : tuple of Cause
    with_charts : tuple of str
        Keys of charts whose change comes from the same runs: the same event seen again
    sentence : str
        In words, by template
    dating : Dating or None
        None where it lies in the baseline, or the chart has no average
    """

    chart: str
    shape: str
    good: bool | None
    first_run: str
    last_run: str
    since: datetime
    until: datetime | None
    since_low: datetime
    since_high: datetime
    before: float
    change: float
    u_change: float
    reached: float
    runs: int
    p: float
    p_adjusted: float
    alcohol_l: float = math.nan
    u_alcohol_l: float = math.nan
    batches: tuple[str, ...] = ()
    causes: tuple[Cause, ...] = ()
    with_charts: tuple[str, ...] = ()
    sentence: str = ""
    dating: Dating | None = None


@dataclass(frozen=True)
class LoneRun:
    """One run so far from the limits that chance does not explain it over the whole report."""

    chart: str
    run: str
    batch: str
    when: datetime
    value: float
    p_adjusted: float
    sentence: str = ""


@dataclass(frozen=True)
class Share:
    """How much of the scatter goes with one attribute."""

    attribute: str  # still, malt lot, recipe, operator, season
    levels: int
    alone: float  # share of the variance, by itself (adjusted for the number of levels)
    unique: float  # that no other attribute explains
    p: float
    confounded_with: tuple[str, ...] = ()  # attributes from which it cannot be told


@dataclass(frozen=True)
class Breakdown:
    """The shares of one measure over all its groups."""

    measure: str  # code
    runs: int
    shares: tuple[Share, ...]


@dataclass(frozen=True)
class Trends:
    """All that the report, the tables and the board show."""

    house: House
    charts: tuple[Chart, ...]
    # By code of a measure, months over all stills of each recipe or product that ran on several; never over unlike.
    together: dict[str, dict[str, tuple[Month, ...]]]
    findings: tuple[Finding, ...]  # greatest worth first; those of the same event point at each other
    lone_runs: tuple[LoneRun, ...]
    breakdowns: tuple[Breakdown, ...]
    alarms_seen: int  # runs beyond and rows on one side, over all charts
    alarms_untold: int  # of them those of which neither a finding nor a lone run speaks
    alarms_by_chance: float
    alarms_by_chance_most: float  # 95 % of stable books have no more
    alike: float  # correlation of neighbouring runs over all charts, which changes and chance alarms allow for
    standings: dict[str, int]
    last: datetime | None
    empty: tuple[str, ...] = ()  # names of measures for which the book has no figure
    notes: dict[str, str] = field(default_factory=dict)  # by code of a measure: what its figures leave open
    rules: tuple[str, ...] = field(default=())
    stock: tuple[StockMonth, ...] = ()  # what lies in casks, by age; empty for a house without

    def chart(self, key: str) -> Chart:
        return next(chart for chart in self.charts if chart.key == key)


FEW = 3  # runs in a month; the scatter of two says next to nothing of their mean
FEWEST = 8  # runs; limits from fewer say little, and the chart stands in the tables only

# Run rules in force, and what each means in words: `pipeline.statistics.run_rules` computes them and how often each
# cries wolf.
RULES = {
    "beyond": "beyond three standard deviations",
    "nine": "nine in a row on one side of the mean",
}
