"""A batch to pages: verdict, decision, genealogy, balance, stages, laboratory, flags, method, provenance, cautions.

Nothing is computed here that the book could hold; what is put together is put into words and drawn.
"""

from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from gaugebook.pipeline.statistics.sensory import chance_of_at_least
from gaugebook.reports.dossier import charts
from gaugebook.reports.dossier.alcohol_flow import flow_figure, flow_steps, litres_per_cm
from gaugebook.reports.dossier.amendments import Marks, amended_values
from gaugebook.reports.dossier.bottled import Panel
from gaugebook.reports.dossier.cask_figure import cask_chart
from gaugebook.reports.dossier.data_schema import schema_bytes
from gaugebook.reports.dossier.dossier_data import DATA, canonical, dossier_data, tables
from gaugebook.reports.dossier.fills import fill_chart, fill_facts
from gaugebook.reports.dossier.genealogy import genealogy_figure, genealogy_layout
from gaugebook.reports.dossier.house_uncertainties import uncertainties
from gaugebook.reports.dossier.not_true import not_true
from gaugebook.reports.dossier.records import Balance, Batch
from gaugebook.reports.dossier.results import earlier_results, in_pairs, result_rows, shown
from gaugebook.reports.dossier.stage_sums import balance_of
from gaugebook.reports.dossier.stages import Chart, stage_views
from gaugebook.reports.dossier.verdict import in_the_way, settled, verdict
from gaugebook.reports.page import figures, pages
from gaugebook.reports.page.documents import Document
from gaugebook.reports.page.language import Language, language
from gaugebook.reports.page.provenance import STANDARDS, libraries, rule_files_sha256, software_version
from gaugebook.reports.page.rule_words import spell_flag, spell_rule

MOST_CASKS = 24  # rows of the table; of more the rest stands in the attached data


@dataclass(frozen=True)
class BalanceRow:
    """A line of the alcohol balance; `level` is "stage" for the sum of a stage's runs."""

    level: str
    title: str
    balance: Balance

    @property
    def seen(self) -> str:
        """Whether the loss is more than its own uncertainty could feign: within, loss, gain, or nothing to say."""
        loss, u = self.balance.loss_l, self.balance.u_loss_l
        if loss is None or not u:
            return ""
        if abs(loss) <= figures.COVERAGE * u:
            return "within"
        return "loss" if loss > 0 else "gain"


def dossier_html(batch: Batch, data_sha256: str = "") -> str:
    """The dossier of a batch as one HTML page with every drawing in it, in the language of the house profile.

    Parameters
    ----------
    data_sha256 : str
        Of the data attached to it, which its last pages name.
    """
    house_language = language(batch.house.documents.language)
    views = stage_views(batch, house_language)
    return pages.html(
        "dossier.html.jinja",
        batch.house.time_zone,
        house_language,
        batch=batch,
        house=batch.house,
        bottling=batch.bottling,
        product=batch.product,
        verdict=verdict(batch, house_language),
        in_the_way=in_the_way(batch),
        settled=settled(batch),
        decision=batch.decisions[0] if batch.decisions else None,
        flag_number={flag.flag: f"F{number}" for number, flag in enumerate(batch.flags, start=1)},
        lots=house_language.say("runs.lots", n=len({edge.lot for edge in batch.edges})),
        runs=house_language.say("runs.count", n=sum(len(stage.runs) for stage in batch.stages)),
        stages=views,
        not_true=not_true(batch),
        results=result_rows(batch, house_language),
        earlier=earlier_results(batch),
        in_pairs=in_pairs,
        shown=lambda result: shown(result, house_language),
        spell_flag=spell_flag,
        spell_rule=spell_rule,
        reduction=[view for view in views if view.stage.name == "reduce"],
        panels=[(panel, _chance(panel)) for panel in batch.panels],
        file_number={file.file_id: number for number, file in enumerate(batch.files, start=1)},
        marks=Marks(batch),
        amended=amended_values(batch, house_language),
        uncertainties=uncertainties(batch.house, house_language),
        software=software_version(),
        rule_book=rule_files_sha256(),
        libraries=libraries(),
        standards=STANDARDS,
        data_sha256=data_sha256,
        **_figures(batch, house_language),
    )


def dossier_document(batch: Batch) -> Document:
    """The dossier with its data inside, and what the register is to say of it.

    Its metadata is dated by the bottling, so the same book gives the same bytes.
    """
    data = dossier_data(batch)
    content = canonical(data)
    digest = sha256(content).hexdigest()
    page = dossier_html(batch, digest)
    pdf = pages.pdf(page, batch.bottling.bottled_at, batch.house.documents.paper, _attached(batch, data, content))
    name = f"{pages.file_name(batch.code)}.pdf"
    return Document("dossier", batch.code, name, pdf, digest, batch.provenance.head)


def _attached(batch: Batch, data: dict[str, Any], content: bytes) -> list[pages.Attached]:
    """The data as one canonical JSON with its schema, as tables, and what a decision freezes."""
    return [
        pages.Attached(DATA, content, "All data of this dossier, to eight digits; canonical JSON (RFC 8785)"),
        pages.Attached("dossier.schema.json", schema_bytes(), "JSON Schema (2020-12) of dossier.json", "Supplement"),
        pages.Attached("evidence.json", batch.provenance.evidence.encode(), "What a decision on this batch freezes"),
        *(pages.Attached(name, table, "Records of dossier.json as a table") for name, table in tables(data).items()),
    ]


def _figures(batch: Batch, house_language: Language) -> dict[str, Any]:
    """The drawings that belong to no single stage, and the table that one of them shows."""
    layout = genealogy_layout(batch, house_language)
    steps = flow_steps(
        [(house_language.name("title", stage.name), total) for stage in batch.stages
         if (total := balance_of(stage, batch.errors)) is not None]
    )  # fmt: skip
    flow = None
    if steps:
        scale = house_language.number(litres_per_cm(steps), 0)
        flow = Chart(
            flow_figure(steps, house_language), house_language.say("flow.caption", n=len(steps), scale=f"{scale} LPA")
        )
    return {
        "genealogy": genealogy_figure(layout, house_language) if batch.edges else None,
        "boxes": len(layout.boxes),
        "flow": flow,
        "cask_chart": cask_chart(batch, house_language),
        "most_casks": MOST_CASKS,
        "balance": _balance_rows(batch, house_language),
        "bills": [
            (item, None if item.ratio is None else charts.ratio_bar(
                item.ratio,
                house_language.say("botanicals.bar", ratio=f"{item.botanical} {house_language.percent(item.ratio)}"),
            ))
            for item in batch.botanicals
        ],
        "fills": fill_chart(batch, house_language),
        "fill_facts": fill_facts(batch, house_language),
    }  # fmt: skip


def _balance_rows(batch: Batch, house_language: Language) -> tuple[BalanceRow, ...]:
    rows = []
    for stage in batch.stages:
        total = balance_of(stage, batch.errors)
        if total is None:
            continue
        several = len(stage.balances) > 1
        key = "balance.several" if several else "balance.one"
        title = house_language.say(
            key, stage=house_language.name("title", stage.name), n=len(stage.balances), run=total.run
        )
        rows.append(BalanceRow("stage", title, total))
        if several:
            rows += [
                BalanceRow("run", run.run, stage.balances[run.run]) for run in stage.runs if run.run in stage.balances
            ]
    return tuple(rows)


def _chance(panel: Panel) -> float | None:
    return chance_of_at_least(panel.correct_answers, panel.assessors, panel.test)
