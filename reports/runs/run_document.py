"""One still run on a page: its figure, cuts, parts and quantities."""

from gaugebook.reports.page import pages
from gaugebook.reports.page.provenance import rule_files_sha256, software_version
from gaugebook.reports.runs.run_record import ENGLISH, RunRecord, cut_row, measure, part_row, quantities
from gaugebook.reports.runs.run_views import full_view


def run_pdf(record: RunRecord) -> bytes:
    """The run as PDF, dated by its log, so the same book gives the same bytes."""
    zone = record.house.time_zone
    page = pages.html(
        "run.html.jinja",
        zone,
        house=record.house,
        curve=record.curve,
        view=full_view(record.figure, zone, ENGLISH),
        cuts=[cut_row(record.figure, cut, zone) for cut in record.figure.cuts],
        unit=measure(record),
        parts=[part_row(part, measure(record)) for part in record.parts],
        quantities=quantities(record.curve),
        software=software_version(),
        rule_book=rule_files_sha256(),
    )
    return pages.pdf(page, record.figure.log_started_at, record.house.documents.paper)
