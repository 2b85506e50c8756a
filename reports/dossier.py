"""A batch to pages: verdict, identity, genealogy, stages, balance, laboratory, flags, method, provenance, cautions.

Nothing is computed here that the book could hold; what is put together is put into words and drawn.
"""

from dataclasses import dataclass

from pipeline.statistics.sensory import chance_of_at_least
from reports import charts, figures, pages
from reports.amendments import Marks, amended_values
from reports.edition import rule_book_sha256, software_version
from reports.genealogy import genealogy_figure, genealogy_layout
from reports.records import Balance, Batch, Panel
from reports.results import earlier_results, result_rows, shown
from reports.stages import TITLES, Chart, balance_of, stage_views
from reports.verdict import in_the_way, verdict


@dataclass(frozen=True)
class BalanceRow:
    """A line of the alcohol balance; `level` is "stage" for the sum of a stage's runs."""

    level: str
    title: str
    balance: Balance

    @property
    def seen(self) -> str:
        """Whether the loss is more than its own uncertainty could feign."""
        loss, u = self.balance.loss_l, self.balance.u_loss_l
        if loss is None or not u:
            return figures.MISSING
        if abs(loss) <= figures.COVERAGE * u:
            return "within U"
        return "loss" if loss > 0 else "gain"


def dossier_html(batch: Batch) -> str:
    """The dossier of a batch as one HTML page with every drawing in it."""
    layout = genealogy_layout(batch)
    lots = {edge.lot for edge in batch.edges}
    return pages.html(
        "dossier.html.jinja",
        batch.house.time_zone,
        batch=batch,
        house=batch.house,
        bottling=batch.bottling,
        product=batch.product,
        verdict=verdict(batch),
        in_the_way=in_the_way(batch),
        flag_number={flag.flag: f"F{number}" for number, flag in enumerate(batch.flags, start=1)},
        genealogy=genealogy_figure(layout) if batch.edges else None,
        lots=len(lots),
        boxes=len(layout.boxes),
        stages=stage_views(batch),
        balance=_balance_rows(batch),
        results=result_rows(batch),
        earlier=earlier_results(batch),
        shown=shown,
        fills=_fills(batch),
        reduction=[stage for stage in stage_views(batch) if stage.stage.name == "reduce"],
        panels=[(panel, _chance(panel)) for panel in batch.panels],
        file_number={file.file_id: number for number, file in enumerate(batch.files, start=1)},
        marks=Marks(batch),
        amended=amended_values(batch),
        software=software_version(),
        rule_book=rule_book_sha256(),
        titles=TITLES,
    )


def dossier_pdf(batch: Batch) -> bytes:
    """The dossier as PDF; its metadata is dated by the bottling, so the same book gives the same bytes."""
    return pages.pdf(dossier_html(batch), batch.bottling.bottled_at)


def _balance_rows(batch: Batch) -> tuple[BalanceRow, ...]:
    rows = []
    for stage in batch.stages:
        total = balance_of(stage.balances.values(), stage.name)
        if total is None:
            continue
        several = len(stage.balances) > 1
        title = f"{TITLES[stage.name]}, {len(stage.balances)} runs" if several else f"{TITLES[stage.name]}, {total.run}"
        rows.append(BalanceRow("stage", title, total))
        if several:
            rows += [
                BalanceRow("run", run.run, stage.balances[run.run]) for run in stage.runs if run.run in stage.balances
            ]
    return tuple(rows)


def _fills(batch: Batch) -> Chart | None:
    bottling = batch.bottling
    if not batch.fills:
        return None
    tne = bottling.tolerable_negative_error_ml
    below = "" if tne is None else f" The tolerable negative error is {tne:g} mL."
    return Chart(
        charts.fill_strip(batch.fills, bottling.nominal_ml, tne),
        f"Net content of {len(batch.fills)} sampled bottles at 20 °C [mL], one dot a bottle, to the nearest dot; "
        f"triangle: their mean; diamond: below nominal less the tolerable error.{below}",
    )


def _chance(panel: Panel) -> float | None:
    return chance_of_at_least(panel.correct_answers, panel.assessors, panel.test)
