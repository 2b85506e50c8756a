"""Commands that take files in and say what became of their rows."""

import json
import sys
from collections import Counter
from pathlib import Path

import click

from pipeline.database import open_book
from pipeline.flow import FileOutcome, receive


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--house",
    type=click.Path(path_type=Path, dir_okay=False),
    help="House profile; by default the nearest house.toml at or above the files, else the one the book knows.",
)
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def receive_command(book: Path, files: tuple[Path, ...], house: Path | None, as_json: bool) -> None:
    """Take FILES in (or all data files of a folder): kept, landed, typed or refused with the reason.

    Receiving the same file again changes nothing.
    """
    quiet = as_json or not sys.stderr.isatty()
    done = 0

    def show_progress(outcome: FileOutcome) -> None:
        nonlocal done
        done += 1
        if not quiet:
            click.echo(f"\r{done} files, at {outcome.path.name:<40.40}", err=True, nl=False)

    outcomes = receive(book, list(files), house, show_progress)
    if not quiet:
        click.echo(f"\r{'':<70}\r", err=True, nl=False)
    if as_json:
        click.echo(json.dumps([_as_dict(outcome) for outcome in outcomes], indent=1))
    else:
        _print_summary(outcomes)
    is_clean = all(outcome.outcome != "refused" and not _total(outcome, "refused") for outcome in outcomes)
    sys.exit(0 if is_clean else 1)


@click.command()
@click.option("--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write them to this file.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def refused_command(book: Path, csv_path: Path | None, as_json: bool) -> None:
    """List the rows that were refused: file, line, column, value, what was expected, what to do."""
    with open_book(book) as opened:
        refused = opened.frame((Path(__file__).parent / "typed" / "refused.sql").read_text(encoding="utf-8"))
    if csv_path:
        from pipeline.spreadsheet import harmless

        harmless(refused).write_csv(csv_path)
        click.echo(f"{refused.height} refusals written to {csv_path}")
    elif as_json:
        click.echo(json.dumps(refused.to_dicts(), indent=1))
    else:
        for row in refused.iter_rows(named=True):
            click.echo(
                f'{row["place"]}, column "{row["column_name"]}": {row["value"] or "(blank)"} (expected '
                f"{row['expected']}). To do: {row['to_do']}. [{row['kind']}.{row['code']}]"
            )
        click.echo(f"{refused.height} refusals." if refused.height else "No row was refused.")
    sys.exit(1 if refused.height else 0)


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
    from rich.console import Console
    from rich.table import Table

    console = Console()
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
        console.print(table)
    by_outcome = Counter(outcome.outcome for outcome in outcomes)
    sentence = ", ".join(f"{count} {word}" for word, count in sorted(by_outcome.items())) or "none found"
    click.echo(f"Files: {sentence}.")
    for outcome in outcomes:
        if outcome.outcome == "refused":
            click.echo(f"refused: {outcome.reason}", err=True)
    rows_refused = sum(_total(outcome, "refused") for outcome in outcomes)
    if rows_refused:
        click.echo(f'{rows_refused} rows were refused; "gaugebook refused" says which and why.')
