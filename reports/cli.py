"""The command line of the whole project; the one place that knows every command.

Commands are imported when they are called, so that the bench calculators start without the heavier libraries.
"""

import logging
import os
import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import click

from gaugebook.pipeline.errors import GaugebookError

_log = logging.getLogger(__name__)

# name -> (module of its function NAME_command, one line for the list of commands)
COMMANDS = {
    "receive": ("pipeline.commands.receive_commands", "Take files in: run logs, run sheets, lab readings."),
    "refused": ("pipeline.commands.receive_commands", "List the rows that were refused, with the reason."),
    "amend": ("pipeline.commands.amend_command", "Change one value of one record, with person and reason."),
    "map": ("pipeline.commands.receive_commands", "Draft a source map for a new device's export."),
    "check": ("checks.commands.check_commands", "Run the rules and list what they flag."),
    "explain": ("checks.commands.decision_commands", "Record why a flag is as it is."),
    "decide": ("checks.commands.decision_commands", "Release, hold or reject a batch."),
    "batches": ("checks.commands.check_commands", "List the batches and whether they may go."),
    "dossier": ("reports.dossier.dossier_command", "Write the release dossier of a batch as PDF."),
    "run": ("reports.runs.run_command", "What the log of a still run says, beside sheet and gauges."),
    "trends": ("reports.trends.trends_command", "Write the monthly trends as PDF."),
    "board": ("reports.board.board_command", "Write what is in hand as one page for the browser."),
    "account": ("reports.accounts.account_command", "Write the alcohol account of a month as PDF."),
    "gauge-record": ("reports.accounts.gauge_record_command", "Write gauge records as PDF, a page a gauge."),
    "inventory": ("reports.accounts.inventory_command", "Count sheet, and what was counted against the book, as PDF."),
    "trace": ("reports.accounts.trace_command", "Follow a lot back to grain and forward to bottles and customers."),
    "sign": ("reports.proof.sign_command", "Sign a document with a person's own certificate."),
    "certificate": ("reports.proof.sign_command", "Make a certificate to try signatures with."),
    "pack": ("reports.proof.pack_command", "Write the auditor's pack of a month."),
    "verify": ("reports.proof.verify_command", "Check the book against its register."),
    "strength": ("pipeline.commands.calculators", "Strength at 20 °C from a reading."),
    "reduce": ("pipeline.commands.calculators", "Water to bring a spirit to a target strength."),
    "blend": ("pipeline.commands.calculators", "Volume and strength of a blend of spirits."),
    "tables": ("pipeline.commands.tables_command", "A table of OIML R 22 for a range."),
}


class _Commands(click.Group):
    """Commands found by name and imported only when asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in COMMANDS:
            return None
        module, _ = COMMANDS[cmd_name]
        command: click.Command = getattr(import_module(f"gaugebook.{module}"), f"{cmd_name.replace('-', '_')}_command")
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """The reader of our output may go, as in "| head": nothing failed, and click's own answer would be status 1."""
        try:
            return super().invoke(ctx)
        except BrokenPipeError:
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # for what is still in the buffer
            ctx.exit(0)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--book",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("book"),
    envvar="GAUGEBOOK_BOOK",
    show_default=True,
    help="Folder of the book.",
)
@click.option(
    "--debug",
    is_flag=True,
    envvar="GAUGEBOOK_DEBUG",
    help="For developers: SQL with its time, and the traceback of an error, on standard error.",
)
@click.version_option(package_name="gaugebook")
@click.pass_context
def main(context: click.Context, book: Path, debug: bool) -> None:
    """One book of gauges, from grain to bottle.

    Exit status: 0 done; 1 done and something needs attention; 2 could not be done.
    """
    context.obj = book
    log_to_standard_error(on=debug)


class _ToStandardError(logging.Handler):
    """Writes to what is standard error at the moment."""

    def emit(self, record: logging.LogRecord) -> None:
        click.echo(self.format(record), err=True)


def log_to_standard_error(*, on: bool) -> None:
    """Show what our own modules log, or do not; the one place where logging is set up."""
    ours = logging.getLogger("gaugebook")
    ours.handlers = [handler for handler in ours.handlers if not isinstance(handler, _ToStandardError)]
    ours.setLevel(logging.DEBUG if on else logging.NOTSET)
    if on:
        handler = _ToStandardError()
        handler.setFormatter(logging.Formatter("%(relativeCreated)d ms %(name)s: %(message)s"))
        ours.addHandler(handler)


def run() -> None:
    """Entry point: faults in use become one sentence on standard error and exit status 2."""
    try:
        main(prog_name="gaugebook")
    except GaugebookError as error:
        _log.debug("the command could not be done", exc_info=True)
        click.echo(f"gaugebook: {error}", err=True)
        sys.exit(2)
    except OSError as error:
        _log.debug("the command could not be done", exc_info=True)
        where = f' "{error.filename}"' if error.filename else ""
        click.echo(f"gaugebook: could not use{where}: {error.strerror or error}.", err=True)
        sys.exit(2)


if __name__ == "__main__":
    from gaugebook.reports import cli  # under its own name, as everything else knows it

    cli.run()
