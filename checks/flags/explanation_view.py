"""A flag told in full, on the screen."""

from typing import Any

import click


def print_explanation(explained: dict[str, Any], places: int = 40) -> None:
    """Print what `checks.flags.explanation.explanation` found; of many inputs the first ones, and how many more."""
    from rich.table import Table

    from gaugebook.pipeline.commands.screen import console, text

    flag, rule = explained["flag"], explained["rule"]
    screen = console()
    screen.print(text((flag["flag"], "bold"), f"  {flag['rule']}, {flag['severity']}"))
    screen.print(text(flag["message"]))
    facts = Table(show_header=False, box=None, padding=(0, 2, 0, 0))
    for name, words in (
        ("Compared", rule["with_what"]), ("Why", rule["reason"]), ("Source", rule["citation"]),
        ("Computed", rule["computation"]), ("Usual causes", rule["causes"]), ("To do", rule["to_do"]),
    ):  # fmt: skip
        facts.add_row(name, text(words))
    for name, value in explained["numbers"].items():
        facts.add_row(name, text(_shown(value)))
    screen.print(facts)
    _print_table(
        screen, Table("Read from", "Record"), [(i["place"] or "", i["what"]) for i in explained["inputs"]], places
    )
    history = [(f"{e['happened_at']:%Y-%m-%d %H:%M}", _happened(e)) for e in explained["history"]]
    _print_table(screen, Table("When (UTC)", "What happened"), history, places)


def _print_table(screen: Any, table: Any, rows: list[tuple[str, str]], most: int) -> None:
    from gaugebook.pipeline.commands.screen import text

    for row in rows[:most]:
        table.add_row(*map(text, row))
    if rows:
        screen.print(table)
    if len(rows) > most:
        click.echo(f"and {len(rows) - most} more; --json lists all")


def _happened(event: dict[str, Any]) -> str:
    who = f" by {event['person']} ({event['role']})" if event["person"] else ""
    why = f": {event['reason']}" if event["reason"] else ""
    attached = f" [attached {event['attachment']}, {event['attachment_sha256'][:12]}]" if event["attachment"] else ""
    value = f", value {event['value']}" if event["value"] is not None else ""
    return f"{event['happened']}{who}{why}{attached}{value}"


def _shown(value: Any) -> str:
    """A number as it was compared.

    Examples
    --------
    >>> _shown(0.123456789), _shown(None), _shown("dried")
    ('0.123457', 'not known', 'dried')
    """
    if value is None:
        return "not known"
    return f"{value:.6g}" if isinstance(value, float) else str(value)
