"""What changed, counted once: the changes that the first page, the board and the lists of charts all tell of."""

from dataclasses import dataclass

from gaugebook.reports.page.wording import plural
from gaugebook.reports.trends.measures import Chart, Finding, Trends


@dataclass(frozen=True)
class Event:
    """One change, as its most telling chart shows it, with the other charts that show it too."""

    finding: Finding
    chart: Chart
    also: tuple[Chart, ...]


def events(trends: Trends) -> list[Event]:
    """Findings of the same runs put together, the one that is worth most first."""
    seen: set[int] = set()
    events_in_order = []
    for n, finding in enumerate(trends.findings):
        if n in seen:
            continue
        group = [m for m, other in enumerate(trends.findings) if m not in seen and _belongs(finding, other, m == n)]
        seen.update(group)
        also = dict.fromkeys(trends.findings[m].chart for m in group if m != n)
        events_in_order.append(Event(finding, trends.chart(finding.chart), tuple(trends.chart(key) for key in also)))
    return events_in_order


def changed_charts(trends: Trends) -> set[str]:
    """Keys of the charts on which something changed."""
    return {finding.chart for finding in trends.findings}


def headline(trends: Trends) -> str:
    """How much there is to tell: the changes, the charts that show them, and the single runs far off."""
    if not trends.charts:
        return "There are no ended runs in the book yet."
    number = len(events(trends))
    parts = []
    if number:
        charts = plural(len(changed_charts(trends)), "chart")
        parts.append(f"{plural(number, 'change')} that chance does not explain, seen on {charts}")
    if trends.lone_runs:
        parts.append(f"{plural(len(trends.lone_runs), 'single run')} far off")
    return f"{'; '.join(parts)}." if parts else "Nothing changed that chance does not explain."


def _belongs(finding: Finding, other: Finding, is_itself: bool) -> bool:
    return is_itself or (finding.chart in other.with_charts and other.chart in finding.with_charts)
