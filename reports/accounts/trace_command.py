"""gaugebook trace: a lot back to grain, botanicals and water, and forward to every bottle."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from gaugebook.reports.machine_json import echo_json

if TYPE_CHECKING:
    from gaugebook.reports.accounts.lot_trace import Line, LotTrace


@click.command("trace")
@click.argument("lot")
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
@click.pass_obj
def trace_command(
    book_folder: Path, lot: str, csv_path: Path | None, customers_path: Path | None, as_pdf: bool, out: Path,
    as_json: bool,
) -> None:  # fmt: skip
    """Follow LOT back to what it was made from and forward to every bottle and customer, with a mock recall."""
    from gaugebook.pipeline.book.database import open_book
    from gaugebook.pipeline.derived.build_state import require_this_edition
    from gaugebook.pipeline.house.profile_in_force import profile_in_force
    from gaugebook.reports.accounts.lot_trace import gather_trace

    with open_book(book_folder) as book:
        require_this_edition(book)
        found = gather_trace(book, profile_in_force(book), lot)
    if as_json:
        echo_json(_as_json(found))
    else:
        _print(found)
    if csv_path:
        from gaugebook.pipeline.spreadsheets import csv_bytes
        from gaugebook.reports.accounts.lot_trace import trace_table

        csv_path.write_bytes(csv_bytes(trace_table(found)))
        click.echo(csv_path, err=as_json)
    if customers_path:
        from gaugebook.pipeline.spreadsheets import csv_bytes
        from gaugebook.reports.accounts.lot_trace import removals_table

        customers_path.write_bytes(csv_bytes(removals_table(found)))
        click.echo(customers_path, err=as_json)
    if as_pdf:
        from gaugebook.reports.accounts.lot_trace import trace_pdf
        from gaugebook.reports.page.pages import file_name, write

        click.echo(write(out, f"trace-{file_name(lot)}.pdf", trace_pdf(found)), err=as_json)


def _print(found: "LotTrace") -> None:
    from gaugebook.reports.accounts.lot_trace import left_out, origin, set_aside, verdict
    from gaugebook.reports.page.figures import day, percent, stated

    lot, zone = found.lot, found.house.time_zone
    click.echo(f"{lot['lot']}: {lot['material']}, {origin(lot)} {day(lot['made_at'], zone)}, "
               f"{stated(lot['quantity_in'], lot['u_quantity_in'], lot['basis'])}")  # fmt: skip
    for title, lines, steps, far in (
        (
            "made from (share of its alcohol; quantity that stands behind it)",
            found.back_lines(),
            found.traced.back,
            "lot",
        ),
        (
            "went into (share of that lot's alcohol that is its)",
            found.forward_lines(),
            found.traced.forward,
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
    for row in found.recall.bottles.iter_rows(named=True):
        share = "" if row["share"] is None else f", {percent(row['share'])} of its alcohol"
        click.echo(
            f"  {row['batch']}: {row['bottles']:,} bottles of {row['product']}, {day(row['bottled_at'], zone)}{share}"
        )
    for row in found.recall.goods.iter_rows(named=True):
        click.echo(
            f"  {row['batch']}: {row['dispatched']:,.0f} dispatched, {row['returned']:,.0f} came back, "
            f"{row['sampled']:,.0f} sampled, {row['destroyed']:,.0f} destroyed, {row['in_the_house']:,.0f} in the house"
            + (f", {row['unaccounted']:,.0f} unaccounted at the last count" if row["unaccounted"] else "")
        )
    for row in found.recall.removals.filter(found.recall.removals["kind"] == "dispatched").iter_rows(named=True):
        much = stated(row["alcohol_l"], None, "LPA") if row["pieces"] is None else f"{row['pieces']:,.0f} bottles"
        whom, paper = row["to_whom"] or "customer not recorded", row["document"] or "no document"
        click.echo(f"    {day(row['removed_at'], zone)} {row['lot']}: {much} to {whom} ({paper})")
    for row in found.recall.stock.filter(found.recall.stock["consumed"].is_not_null()).iter_rows(named=True):
        click.echo(f"  {row['vessel']}: {row['lot']}, {stated(row['held_l'], None, 'LPA')}")
    for row in set_aside(found):
        click.echo(
            f"  {row['vessel']}: heads, tails or spent of {row['lots']} lots, {stated(row['held_l'], None, 'LPA')}"
        )
    if found.recall.left:
        click.echo(f"  left of the lot itself: {stated(found.recall.left, None, lot['basis'])}")
    click.echo(verdict(found))


def _line(line: "Line") -> str:
    from gaugebook.reports.page.figures import percent, stated

    share = "" if line.share is None else f"  {percent(line.share)}"
    quantity = "" if line.quantity is None else f"  {stated(line.quantity, None, line.basis)}"
    above = "  (see above)" if line.seen_above else ""
    return f"{'  ' * line.depth}{line.lot}  {line.material}{share}{quantity}  [{line.run}]{above}"


def _as_json(found: "LotTrace") -> dict[str, Any]:
    from gaugebook.reports.accounts.lot_trace import verdict

    return {
        "lot": found.lot,
        "back": found.traced.back.to_dicts(),
        "forward": found.traced.forward.to_dicts(),
        "recall": {
            "bottles": found.recall.bottles.to_dicts(),
            "stock": found.recall.stock.to_dicts(),
            "left": found.recall.left,
            "goods": found.recall.goods.to_dicts(),
            "removals": found.recall.removals.to_dicts(),
            "accounted": found.recall.accounted,
            "sentence": verdict(found),
        },
    }
