"""gaugebook trace: a lot back to grain, botanicals and water, and forward to every bottle."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.machine_json import echo_json

if TYPE_CHECKING:
    from gaugebook.pipeline.book.database import Book
    from gaugebook.pipeline.house.settings import House
    from gaugebook.reports.accounts.epcis.events import Events
    from gaugebook.reports.accounts.lot_trace import Line, LotTrace


@click.command("trace")
@click.argument("lot", required=False)
@click.option(
    "--csv", "csv_path", type=click.Path(path_type=Path, dir_okay=False), help="Write every step to this file."
)
@click.option(
    "--customers", "customers_path", type=click.Path(path_type=Path, dir_okay=False),
    help="Write every dispatch, return, sample and destruction of what holds it to this file (CSV).",
)  # fmt: skip
@click.option("--pdf", "as_pdf", is_flag=True, help="Write the trace and the mock recall as PDF.")
@click.option(
    "--out", type=click.Path(file_okay=False, path_type=Path), default=Path("out/traces"), show_default=True,
    help="Folder that the PDF goes to.",
)  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="For machines: every step, and the mock recall.")
@click.option(
    "--epcis", "epcis_to", is_flag=False, flag_value="-", metavar="[FILE]",
    help="Events of GS1 EPCIS 2.0 (JSON-LD), to this file or else the screen.",
)  # fmt: skip
@click.option("--month", help="With --epcis, instead of LOT: every event of a month such as 2026-03.")
@click.pass_obj
def trace_command(
    book_folder: Path, lot: str | None, csv_path: Path | None, customers_path: Path | None, as_pdf: bool, out: Path,
    as_json: bool, epcis_to: str | None, month: str | None,
) -> None:  # fmt: skip
    """Follow LOT back to what it was made from and forward to every bottle and customer, with a mock recall."""
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.lot_trace import gather_trace

    _require_one_question(lot, month, epcis_to, as_json=as_json, has_table=bool(as_pdf or csv_path or customers_path))
    with open_book(book_folder) as book:
        require_this_edition(book)
        house = profile_in_force(book)
        trace = gather_trace(book, house, lot) if lot else None
        events = _events(book, house, trace, month) if epcis_to else None
    if trace:
        _show(trace, csv_path, customers_path, as_pdf, out, as_json, silent=epcis_to == "-")
    if events and epcis_to:
        _write_events(events, epcis_to)


def _require_one_question(
    lot: str | None, month: str | None, epcis_to: str | None, *, as_json: bool, has_table: bool
) -> None:
    if (lot is None) == (month is None):
        raise GaugebookError("Give either a lot, or --month with --epcis.")
    if month and (epcis_to is None or as_json or has_table):
        raise GaugebookError("--month goes with --epcis alone: a month of events; the trace itself is of one lot.")
    if as_json and epcis_to == "-":
        raise GaugebookError("Both --json and --epcis would go to the screen; give --epcis a file.")


def _events(book: "Book", house: "House", trace: "LotTrace | None", month: str | None) -> "Events":
    from gaugebook.reports.accounts.account_command import first_day
    from gaugebook.reports.accounts.epcis.gathered import events_of_month, events_of_trace

    if trace:
        return events_of_trace(book, house, trace.traced)
    assert month is not None
    return events_of_month(book, house, first_day(month))


def _write_events(events: "Events", to: str) -> None:
    """The document to its file or the screen; what could not become an event is named, and makes the exit status 1."""
    from gaugebook.reports.accounts.epcis.events import document_bytes

    if to == "-":
        click.echo(document_bytes(events.events), nl=False)
    else:
        Path(to).write_bytes(document_bytes(events.events))
        click.echo(f"{to}: {len(events.events):,} events", err=True)
    for line in events.left_out:
        click.echo(f"Not in the events: {line}.", err=True)
    if events.left_out:
        sys.exit(1)


def _show(
    trace: "LotTrace", csv_path: Path | None, customers_path: Path | None, as_pdf: bool, out: Path, as_json: bool,
    *, silent: bool,
) -> None:  # fmt: skip
    if as_json:
        echo_json(_as_json(trace))
    elif not silent:
        _print(trace)
    if csv_path or customers_path:
        from gaugebook.pipeline.spreadsheets import csv_bytes
        from gaugebook.reports.accounts.lot_trace import removals_table, trace_table

        for path, table in ((csv_path, trace_table), (customers_path, removals_table)):
            if path:
                path.write_bytes(csv_bytes(table(trace)))
                click.echo(path, err=as_json or silent)
    if as_pdf:
        from gaugebook.reports.accounts.lot_trace import trace_pdf
        from gaugebook.reports.page.pages import file_name, write

        written = write(out, f"trace-{file_name(trace.lot['lot'])}.pdf", trace_pdf(trace))
        click.echo(written, err=as_json or silent)


def _print(trace: "LotTrace") -> None:
    from gaugebook.reports.accounts.lot_trace import left_out, origin, set_aside, verdict
    from gaugebook.reports.page.figures import day, percent, stated

    lot, zone = trace.lot, trace.house.time_zone
    click.echo(f"{lot['lot']}: {lot['material']}, {origin(lot)} {day(lot['made_at'], zone)}, "
               f"{stated(lot['quantity_in'], lot['u_quantity_in'], lot['basis'])}")  # fmt: skip
    for title, lines, steps, far in (
        (
            "made from (share of its alcohol; quantity that stands behind it)",
            trace.back_lines(),
            trace.traced.back,
            "lot",
        ),
        (
            "went into (share of that lot's alcohol that is its)",
            trace.forward_lines(),
            trace.traced.forward,
            "into_lot",
        ),
    ):
        click.echo(f"\n{title}:" if lines else f"\n{title}: nothing on record")
        for line in lines:
            click.echo(_line(line))
        more = left_out(steps, lines, far)
        if more > 0:
            click.echo(f"  … and {more:,} more lots, each with less than a thousandth; --csv has them all")
    click.echo("\nmock recall:")
    for row in trace.recall.bottles.iter_rows(named=True):
        share = "" if row["share"] is None else f", {percent(row['share'])} of its alcohol"
        click.echo(
            f"  {row['batch']}: {row['bottles']:,} bottles of {row['product']}, {day(row['bottled_at'], zone)}{share}"
        )
    for row in trace.recall.goods.iter_rows(named=True):
        click.echo(
            f"  {row['batch']}: {row['dispatched']:,.0f} dispatched, {row['returned']:,.0f} came back, "
            f"{row['sampled']:,.0f} sampled, {row['destroyed']:,.0f} destroyed, {row['in_the_house']:,.0f} in the house"
            + (f", {row['unaccounted']:,.0f} unaccounted at the last count" if row["unaccounted"] else "")
        )
    for row in trace.recall.removals.filter(trace.recall.removals["kind"] == "dispatched").iter_rows(named=True):
        much = stated(row["alcohol_l"], None, "LPA") if row["pieces"] is None else f"{row['pieces']:,.0f} bottles"
        whom, paper = row["to_whom"] or "customer not recorded", row["document"] or "no document"
        click.echo(f"    {day(row['removed_at'], zone)} {row['lot']}: {much} to {whom} ({paper})")
    for row in trace.recall.stock.filter(trace.recall.stock["consumed"].is_not_null()).iter_rows(named=True):
        click.echo(f"  {row['vessel']}: {row['lot']}, {stated(row['held_l'], None, 'LPA')}")
    for row in set_aside(trace):
        click.echo(
            f"  {row['vessel']}: heads, tails or spent of {row['lots']} lots, {stated(row['held_l'], None, 'LPA')}"
        )
    if trace.recall.left:
        click.echo(f"  left of the lot itself: {stated(trace.recall.left, None, lot['basis'])}")
    click.echo(verdict(trace))


def _line(line: "Line") -> str:
    from gaugebook.reports.page.figures import percent, stated

    share = "" if line.share is None else f"  {percent(line.share)}"
    quantity = "" if line.quantity is None else f"  {stated(line.quantity, None, line.basis)}"
    above = "  (see above)" if line.seen_above else ""
    return f"{'  ' * line.depth}{line.lot}  {line.material}{share}{quantity}  [{line.run}]{above}"


def _as_json(trace: "LotTrace") -> dict[str, Any]:
    from gaugebook.reports.accounts.lot_trace import verdict

    return {
        "lot": trace.lot,
        "back": trace.traced.back.to_dicts(),
        "forward": trace.traced.forward.to_dicts(),
        "recall": {
            "bottles": trace.recall.bottles.to_dicts(),
            "stock": trace.recall.stock.to_dicts(),
            "left": trace.recall.left,
            "goods": trace.recall.goods.to_dicts(),
            "removals": trace.recall.removals.to_dicts(),
            "accounted": trace.recall.accounted,
            "sentence": verdict(trace),
        },
    }
