"""Commands that take files in and say what became of their rows."""

import json
import sys
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import click

from gaugebook.pipeline.book.database import open_book
from gaugebook.pipeline.errors import GaugebookError
from gaugebook.pipeline.intake.file_outcome import FileOutcome
from gaugebook.pipeline.intake.flow import maps_in_force, receive, receive_again

if TYPE_CHECKING:
    from gaugebook.pipeline.intake.preview import SectionPreview

WIDEST_VALUE = 26  # characters that a preview does not fold: a time with its fraction
NARROWEST_ORIGIN = 14


@click.command()
@click.argument("files", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--again", is_flag=True, help="Read kept files anew: those with refusals, and those whose map was mended."
)
@click.option("--preview", "as_preview", is_flag=True, help="Show how the first rows would be read; write nothing.")
@click.option(
    "--house",
    type=click.Path(path_type=Path, dir_okay=False),
    help="House profile; by default the nearest house.toml at or above the files, else the one the book knows.",
)
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def receive_command(
    book: Path, files: tuple[Path, ...], again: bool, as_preview: bool, house: Path | None, as_json: bool
) -> None:
    """Take FILES in (or all data files of a folder): kept, landed, typed or refused with the reason.

    Receiving the same file again changes nothing.
    """
    if bool(files) == again:
        raise GaugebookError("Give files or folders to receive, or --again without any to read kept files anew.")
    if as_preview:
        _refuse_preview_of_folders(files)
        _print_previews(list(files), house)
        return
    quiet = as_json or not sys.stderr.isatty()
    done = 0

    def show_progress(outcome: FileOutcome) -> None:
        nonlocal done
        done += 1
        if not quiet:
            click.echo(f"\r{done} files, at {outcome.path.name:<40.40}", err=True, nl=False)

    def show_profile(lines: tuple[str, ...]) -> None:
        for line in lines:
            click.echo(line, err=as_json)

    outcomes = (
        receive_again(book, house, show_progress, show_profile)
        if again
        else receive(book, list(files), house, show_progress, show_profile)
    )
    if not quiet:
        click.echo(f"\r{'':<70}\r", err=True, nl=False)
    if as_json:
        click.echo(json.dumps([_as_dict(outcome) for outcome in outcomes], indent=1))
    else:
        _print_summary(outcomes)
    sys.exit(1 if any(outcome.needs_attention for outcome in outcomes) else 0)


@click.command()
@click.option("--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write them to this file.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def refused_command(book: Path, csv_path: Path | None, as_json: bool) -> None:
    """List the rows that were refused: file, line, column, value, what was expected, what to do."""
    with open_book(book) as opened:
        refused = opened.frame((Path(__file__).parents[1] / "typed" / "refused.sql").read_text(encoding="utf-8"))
        files = opened.frame("SELECT name, reason FROM received.refused_files ORDER BY name, origin")
    if csv_path:
        from gaugebook.pipeline.spreadsheets import csv_bytes

        csv_path.write_bytes(csv_bytes(refused))
        click.echo(f"{refused.height} refusals written to {csv_path}")
    elif as_json:
        click.echo(json.dumps({"rows": refused.to_dicts(), "files": files.to_dicts()}, indent=1))
    else:
        for row in refused.iter_rows(named=True):
            click.echo(
                f'{row["place"]}, column "{row["column_name"]}": {row["value"] or "(blank)"} (expected '
                f"{row['expected']}). To do: {row['to_do']}. [{row['kind']}.{row['code']}]"
            )
        for _, reason in files.iter_rows():
            click.echo(f"whole file: {reason}")
        click.echo(f"{refused.height} rows and {files.height} files refused.")
    sys.exit(1 if refused.height or files.height else 0)


@click.group()
def map_command() -> None:
    """Source maps: how one device's export reads."""


@map_command.command("draft")
@click.argument("file", type=click.Path(path_type=Path, exists=True, dir_okay=False))
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="Write it to this new file.")
def draft_command(file: Path, out: Path | None) -> None:
    """Look at FILE and write a first source map, with the questions that it cannot answer as comments."""
    from gaugebook.pipeline.intake.map_draft import draft

    text = draft(file)
    if out is None:
        click.echo(text, nl=False)
        return
    if out.exists():
        raise GaugebookError(f'"{out}" exists already; give another name.')
    out.write_text(text, encoding="utf-8")
    click.echo(f'{out} written. Answer its questions, then: gaugebook receive --preview "{file}"')


def _refuse_preview_of_folders(files: tuple[Path, ...]) -> None:
    if not files:
        raise GaugebookError("A preview takes one file; name it in place of --again.")
    folder = next((path for path in files if path.is_dir()), None)
    if folder is not None:
        raise GaugebookError(f'"{folder}" is a folder; a preview takes one file, so name a file of it.')


def _print_previews(files: list[Path], house_path: Path | None) -> None:
    from gaugebook.pipeline.intake.preview import preview
    from gaugebook.pipeline.received.source_map import maps_for

    house, maps = maps_in_force(files, house_path)
    for path in files:
        for source_map in maps_for(path, maps):
            for section in preview(path, source_map, house.time_zone):
                sheet = f", sheet {section.sheet}" if section.sheet else ""
                _print_preview(f"{path.name}{sheet}: {section.kind} by map {source_map.name}", section)
                for sentence in section.refused:
                    click.echo(f"would be refused: {sentence}")


def _print_preview(title: str, section: "SectionPreview") -> None:
    """As many rows as fit beside each other without a cut; longer texts are folded."""
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text

    screen = console()
    given = max((len(values) for _, _, values in section.fields), default=0)
    names = max((len(name) for name, _, _ in section.fields), default=0)
    widths = [max(min(len(values[n]), WIDEST_VALUE) for _, _, values in section.fields) for n in range(given)]
    room, shown = screen.width - names - NARROWEST_ORIGIN - 4, 0
    while shown < given and (shown == 0 or sum(widths[: shown + 1]) + 2 * (shown + 1) <= room):
        shown += 1
    table = Table(title=title, box=None, pad_edge=False, padding=(0, 2, 0, 0))
    table.add_column("field", min_width=names)
    table.add_column("from", overflow="fold")
    for number in range(shown):
        table.add_column(f"row {number + 1}", min_width=max(widths[number], 5), overflow="fold")
    for name, origin, values in section.fields:
        table.add_row(name, text(origin), *map(text, values[:shown]))
    screen.print(table)
    rows = f" The first {shown} of {given} rows; a wider window shows more." if shown < given else ""
    click.echo(f"Times are in UTC.{rows}")


def _total(outcome: FileOutcome, name: str) -> int:
    return sum(getattr(counts, name) for counts in outcome.counts)


def _as_dict(outcome: FileOutcome) -> dict:
    return {
        "file": outcome.path.as_posix(),
        "outcome": outcome.outcome,
        "reason": outcome.reason,
        "records": [vars(counts) for counts in outcome.counts],
    }


def _print_summary(outcomes: list[FileOutcome]) -> None:
    """Counts by record kind, then each file that was refused, then where refused rows stand."""
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, without_control

    totals: dict[str, Counter[str]] = {}
    for outcome in outcomes:
        for counts in outcome.counts:
            numbers = {k: v for k, v in vars(counts).items() if k != "kind"}
            totals.setdefault(counts.kind, Counter()).update(numbers)
    if totals:
        table = Table("records", *("rows in", "kept", "already held", "refused", "passed over"), box=None)
        for column in table.columns[1:]:
            column.justify = "right"
        for kind, total in sorted(totals.items()):
            shown = ("rows_in", "kept", "held", "refused", "passed_over")
            table.add_row(kind, *(f"{total[name]:,}" for name in shown))
        console().print(table)
    by_outcome = Counter(outcome.outcome for outcome in outcomes)
    sentence = ", ".join(f"{count} {word}" for word, count in sorted(by_outcome.items())) or "none found"
    click.echo(f"Files: {sentence}.")
    for outcome in outcomes:
        if outcome.reason:
            click.echo(f"{outcome.outcome}: {without_control(outcome.reason)}", err=True)
    rows_refused = sum(_total(outcome, "refused") for outcome in outcomes)
    if rows_refused:
        click.echo(f'{rows_refused} rows were refused; "gaugebook refused" says which and why.')
