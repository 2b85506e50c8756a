"""gaugebook run: what the log of one still run says, beside its run sheet and its gauges."""

from pathlib import Path

import click

from gaugebook.reports.machine_json import echo_json


@click.command("run")
@click.argument("run")
@click.option("--pdf", "as_pdf", is_flag=True, help="Write the run's figure with these figures as PDF.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/runs"), show_default=True,
    help="Folder that the PDF goes to.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="For machines: all of it, with the lines of the figure.")
@click.pass_obj
def run_command(book_folder: Path, run: str, as_pdf: bool, out: Path, as_json: bool) -> None:
    """What the log of still run RUN says: cuts, alcohol, rates, findings; exit status 1 where something was found."""
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.runs.run_record import gather_run, lines, record_json

    with open_book(book_folder) as book:
        require_this_edition(book)
        record = gather_run(book, profile_in_force(book), run)
    if as_json:
        echo_json(record_json(record))
    else:
        click.echo("\n".join(lines(record)))
    if as_pdf:
        from gaugebook.reports.page.pages import file_name, write
        from gaugebook.reports.runs.run_document import run_pdf

        click.echo(write(out, f"run-{file_name(run)}.pdf", run_pdf(record)), err=as_json)
    if record.needs_attention:
        raise SystemExit(1)
