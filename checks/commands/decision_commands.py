"""Commands of people: explain a flag, decide on a batch."""

import json
from pathlib import Path
from typing import Any

import click


@click.command("explain")
@click.argument("flag")
@click.option("--by", "person", required=True, help="Who explains: a code of the house profile.")
@click.option("--reason", required=True, help="Why it is as it is, in a sentence.")
@click.option("--attach", "attachment", type=click.Path(path_type=Path, dir_okay=False), help="A file that shows it.")
@click.option("--accept", is_flag=True, help="Accept the flag as it stands, for QA.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def explain_command(
    book_folder: Path, flag: str, person: str, reason: str, attachment: Path | None, accept: bool, as_json: bool
) -> None:
    """Record why FLAG is as it is. It stays explained until its value changes."""
    from gaugebook.checks.flags.flag_lifecycle import explain
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.checks.run import now
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force

    with open_book(book_folder, writing=True) as book:
        require_checked(book)
        with book.transaction():
            step = explain(book, profile_in_force(book), flag, person, reason, now(), attachment, accept)
    if as_json:
        _print_json(vars(step))
        return
    attached = f" Attached: SHA-256 {step.attachment_sha256}." if step.attachment_sha256 else ""
    click.echo(f"Flag {step.flag} on {step.record} is {step.state} by {step.person}.{attached}")


@click.command("decide")
@click.argument("batch")
@click.option("--release", "verdict", flag_value="released", help="It may go.")
@click.option("--hold", "verdict", flag_value="held", help="It waits.")
@click.option("--reject", "verdict", flag_value="rejected", help="It may not go.")
@click.option("--by", "person", required=True, help="Who decides: a code of the house profile.")
@click.option("--reason", required=True, help="Why, in a sentence.")
@click.option("--json", "as_json", is_flag=True, help="For machines.")
@click.pass_obj
def decide_command(book_folder: Path, batch: str, verdict: str | None, person: str, reason: str, as_json: bool) -> None:
    """Release, hold or reject BATCH, and freeze what that rests on.

    A release is refused while flags stand in the way, unless the house profile names this person under may_overrule.
    """
    from gaugebook.checks.decisions.decisions import decide
    from gaugebook.checks.flags.freshness import require_checked
    from gaugebook.checks.rulebook.softened_rules import lowered, lowered_in_words
    from gaugebook.checks.run import effective_rules, now
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.house.profile_in_force import profile_in_force

    if verdict is None:
        raise click.UsageError("Say what is decided: --release, --hold or --reject.")
    with open_book(book_folder, writing=True) as book:
        require_checked(book)
        rules, _ = effective_rules(book)
        with book.transaction():
            decision = decide(book, profile_in_force(book), rules, batch, verdict, person, reason, now())
        lowered_rules, sentences = lowered(book), lowered_in_words(book)
    if as_json:
        _print_json(vars(decision) | {"house_profile_lowers": lowered_rules})
        return
    over = f" Flags overruled: {', '.join(decision.overruled)}." if decision.overruled else ""
    click.echo(
        f"Decision {decision.decision}: {decision.batch} is {decision.verdict} by {decision.person} "
        f"({decision.role}).{over}"
    )
    click.echo(f"It rests on evidence with SHA-256 {decision.evidence_sha256}.")
    for sentence in sentences:
        click.echo(sentence)


def _print_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=2, ensure_ascii=False, default=str))
