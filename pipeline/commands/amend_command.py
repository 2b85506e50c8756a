"""The command that amends one value of one record."""

import json
from datetime import UTC, datetime
from pathlib import Path

import click

from gaugebook.pipeline.errors import GaugebookError


@click.command()
@click.argument("place")
@click.argument("field")
@click.argument("value")
@click.option("--by", "person", required=True, help="Who amends: a code of the house profile.")
@click.option("--reason", required=True, help="Why, in a sentence.")
@click.option("--sheet", help="Sheet, where the file is a workbook.")
@click.option("--kind", help="Kind of record, where the row gave several.")
@click.option("--analyte", help="Analyte, where the row gave several.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def amend_command(
    book: Path, place: str, field: str, value: str, person: str, reason: str,
    sheet: str | None, kind: str | None, analyte: str | None, as_json: bool,
) -> None:  # fmt: skip
    """Change FIELD of the record read from PLACE (file:line) to VALUE; the first value stays readable.

    Everything derived follows, and dossiers show the value as amended.
    """
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.intake.flow import bring_up_to_date, derive, profile_in_force
    from gaugebook.pipeline.typed.amendments import Target, amend

    file, _, line = place.rpartition(":")
    if not file or not line.isdigit():
        raise GaugebookError(
            f'"{place}" is no place; expected file:line, such as gravities_2026-01.csv:14 or '
            '"run_sheet.xlsx, sheet Gauges:14".'
        )
    if sheet is None and ", sheet " in file:  # as other commands print a place
        file, _, sheet = file.rpartition(", sheet ")
    with open_book(book, writing=True) as opened:
        bring_up_to_date(opened)
        house = profile_in_force(opened)
        known = [item.code for item in house.people]
        if person not in known:
            raise GaugebookError(f'"{person}" is nobody in the house profile; known: {", ".join(known)}.')
        target = Target(file, sheet, int(line), kind, analyte)
        with opened.transaction():
            now = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
            done = amend(opened, target, field, value, person, reason, now, house.time_zone)
            derive(opened)
    if as_json:
        click.echo(json.dumps(vars(done), indent=1))
    else:
        click.echo(
            f"Amendment {done.number}: {done.kind} {done.record}, {done.field}: {done.old_value or 'blank'} is now "
            f"{done.new_value or 'blank'}. Run the checks again."
        )
