"""Commands of the rule book: check, and the batches with their standing."""

from __future__ import annotations

import json
import sys
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import click

if TYPE_CHECKING:
    from collections.abc import Sequence

    import polars as pl

    from gaugebook.checks.rulebook.rule import Rule
    from gaugebook.checks.run import CheckSummary
    from gaugebook.pipeline.book.database import Book

FLAGS_BY_BATCH = """
    SELECT flags.*, files.name || coalesce(', sheet ' || sources.sheet, '') || ':' || flags.line AS place,
        coalesce(before.batches, []) AS batches,
        coalesce(states.state, 'open') AS state, states.person AS person, states.reason AS explanation
    FROM flagged.flags
    LEFT JOIN history.flag_states AS states ON states.flag = flags.flag
    LEFT JOIN (SELECT flag, list(batch ORDER BY batch) AS batches FROM flagged.batch_flags GROUP BY flag) AS before
        ON before.flag = flags.flag
    LEFT JOIN landed.sources ON sources.source_id = flags.source_id
    LEFT JOIN received.files ON files.file_id = sources.file_id
    ORDER BY before.batches[1] NULLS LAST, flags.rule, flags.record
"""

STANDINGS = """
    SELECT standings.*, coalesce(verdicts.verdict, 'waiting') AS verdict, verdicts.person AS decided_by,
        verdicts.decided_at
    FROM flagged.standings AS standings
    LEFT JOIN history.verdicts AS verdicts ON verdicts.batch = standings.batch
    ORDER BY standings.bottled_at, standings.batch
"""


@click.command("check")
@click.option("--json", "as_json", is_flag=True, help="Print everything as JSON.")
@click.option("--rules", "show_rules", is_flag=True, help="Print the rule book in force instead of checking.")
@click.option("--summary", "only_summary", is_flag=True, help="Print the sums alone.")
@click.option("--explain", "flag", metavar="FLAG", help="Tell all of one flag instead of checking.")
@click.pass_obj
def check_command(book_folder: Path, as_json: bool, show_rules: bool, only_summary: bool, flag: str | None) -> None:
    """Judge every record by the rule book; exit status 1 where something needs attention."""
    from gaugebook.checks.run import effective_rules, run_checks
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import is_of_this_edition

    if show_rules or flag:
        with open_book(book_folder) as book:
            _print_told(book, flag, as_json) if flag else _print_rules(effective_rules(book)[0], as_json)
        return
    with open_book(book_folder, writing=True) as book, _patience("Judging every record by the rule book"):
        if not is_of_this_edition(book):
            from gaugebook.pipeline.intake.flow import bring_up_to_date  # not above: it imports every stage

            bring_up_to_date(book)
        summary = run_checks(book)
        flags = book.frame(FLAGS_BY_BATCH)
        counts = book.frame("SELECT * FROM flagged.rule_counts")
    if as_json:
        _print_json({"summary": vars(summary), "flags": flags.to_dicts(), "rules": counts.to_dicts()})
    else:
        if not only_summary:
            _print_flags(flags)
        _print_summary(summary)
    if summary.needs_attention:
        raise SystemExit(1)


def _print_told(book: Book, flag: str, as_json: bool) -> None:
    from gaugebook.checks.flags.explanation import explanation
    from gaugebook.checks.flags.explanation_view import print_explanation
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.checks.run import effective_rules

    require_checked(book)
    flag_explained = explanation(book, flag, *effective_rules(book))
    _print_json(flag_explained) if as_json else print_explanation(flag_explained)


@click.command("batches")
@click.option("--json", "as_json", is_flag=True, help="Print a list of objects with the key batch.")
@click.pass_obj
def batches_command(book_folder: Path, as_json: bool) -> None:
    """List the bottled batches with what stands before their release."""
    from gaugebook.checks.rulebook.softened_rules import lowered, lowered_in_words
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force

    with open_book(book_folder) as book:
        rows = _standings(book).to_dicts()
        lowered_rules, sentences = lowered(book), lowered_in_words(book)
        zone = profile_in_force(book).time_zone
    if as_json:
        _print_json([row | {"house_profile_lowers": lowered_rules} for row in rows])
    else:
        _print_batches(rows, zone)
        for sentence in sentences:
            click.echo(sentence)


def _standings(book: Book) -> pl.DataFrame:
    from gaugebook.pipeline.errors import BookError

    checked = book.value("SELECT count(*) FROM information_schema.tables WHERE table_schema = 'flagged'")
    if not checked:
        raise BookError(f'The book in "{book.folder}" has not been checked yet: run "gaugebook check" first.')
    return book.frame(STANDINGS)


def _patience(doing: str) -> Any:
    """A sign of life on standard error while a person waits."""
    from rich.console import Console

    return Console(stderr=True).status(doing)


def _print_json(value: Any) -> None:
    json.dump(value, sys.stdout, indent=2, ensure_ascii=False, default=str)
    sys.stdout.write("\n")


def _print_flags(flags: pl.DataFrame) -> None:
    """What stops and what needs explaining flag by flag; what is for information by rule, with one example."""
    import polars as pl
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text

    screen = console()
    for severity in ("stops release", "needs explanation"):
        rows = flags.filter(pl.col("severity") == severity)
        if rows.is_empty():
            continue
        table = Table("Before", "What", title=f"{severity.capitalize()}: {len(rows)}", show_lines=True)
        for row in rows.iter_rows(named=True):
            state = f"{row['state']} by {row['person']}" if row["state"] != "open" else None
            source = ", ".join(part for part in (row["rule"], row["flag"], row["place"], state) if part)
            table.add_row(text(_named(row["batches"])), text(f"{row['message']}\n", (source, "dim")))
        screen.print(table)
    informed = flags.filter(pl.col("severity") == "for information")
    if informed.is_empty():
        return
    table = Table("Rule", "Flags", "For example", title=f"For information: {len(informed)}")
    for (rule,), rows in informed.group_by("rule", maintain_order=True):
        table.add_row(str(rule), str(len(rows)), text(rows["message"][0]))
    screen.print(table)


def _named(batches: list[str]) -> str:
    """The batches that a flag stands before, shortened.

    Examples
    --------
    >>> _named([]), _named(["A", "B"]), _named(["A", "B", "C", "D"])
    ('no batch', 'A, B', 'A, B and 2 more')
    """
    if not batches:
        return "no batch"
    if len(batches) <= 3:
        return ", ".join(batches)
    return f"{batches[0]}, {batches[1]} and {len(batches) - 2} more"


def _print_summary(summary: CheckSummary) -> None:
    flags = ", ".join(f"{count} {severity}" for severity, count in summary.flags.items())
    batches = ", ".join(f"{count} {standing}" for standing, count in summary.batches.items())
    explained = f" Explained: {summary.explained}." if summary.explained else ""
    click.echo(
        f"{summary.rules} rules answered {summary.records} times. Flags: {flags}.{explained} Batches: {batches}."
    )
    if summary.rules_without_records:
        click.echo(f"Found nothing to look at: {', '.join(summary.rules_without_records)}.")
    for sentence in summary.softened:
        click.echo(sentence)


def _print_rules(rules: Sequence[Rule], as_json: bool) -> None:
    if as_json:
        _print_json([vars(rule) for rule in rules])
        return
    from rich.table import Column, Table

    from gaugebook.pipeline.commands.screen import console, text

    table = Table(Column("Rule", no_wrap=True), "Compares", "Why, and by which source", show_lines=True)
    table.title = f"{len(rules)} rules in force"
    for rule in rules:
        unit = f" [{rule.unit}]" if rule.unit else ""
        source = rule.citation if rule.confirmed else f"{rule.citation} (to be confirmed)"
        table.add_row(
            f"{rule.id}\n{rule.severity}",
            text(f"{rule.quantity}{unit}: {rule.with_what}"),
            text(f"{rule.reason}\n{source}"),
        )
    console().print(table)


def _print_batches(rows: list[dict[str, Any]], zone: str) -> None:
    from rich.table import Column, Table

    from gaugebook.pipeline.commands.screen import console, text

    table = Table(Column("Batch", no_wrap=True), "Product", "Bottled", "Standing", "Flags", "Decision")
    table.title = "Batches; flags that stop, to explain, for information"
    for row in rows:
        at = row["bottled_at"]
        bottled = f"{at.replace(tzinfo=UTC).astimezone(ZoneInfo(zone)):%Y-%m-%d}" if at else ""
        counts = ", ".join(str(row[name]) for name in ("stops_release", "needs_explanation", "for_information"))
        table.add_row(text(row["batch"]), text(row["product"] or ""), bottled, row["standing"], counts, row["verdict"])
    console().print(table)
