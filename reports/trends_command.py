"""gaugebook trends: yields and recoveries by month as PDF."""

from pathlib import Path

import click


@click.command("trends")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/trends"), show_default=True,
    help="Folder that the PDF goes to.",
)  # fmt: skip
@click.pass_obj
def trends_command(book_folder: Path, out: Path) -> None:
    """Write the monthly trends as a PDF, named for the month of the last run, and print where it is."""
    from checks.currency import require_checked
    from pipeline.database import open_book
    from pipeline.kept_profile import house_of
    from reports.figures import local_month
    from reports.months import gather_months
    from reports.pages import write
    from reports.trends import trends_pdf

    with open_book(book_folder) as book:
        require_checked(book)
        house = house_of(book)
        trends = gather_months(book, house)
    month = f"{local_month(trends.last, house.time_zone):%Y-%m}" if trends.last else "empty"
    click.echo(write(out, f"trends-{month}.pdf", trends_pdf(trends)))
