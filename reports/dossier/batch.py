"""Gathers one batch into frozen records: the dossier's only queries."""

import difflib
import json
from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, TypeVar

from gaugebook.checks.decisions.evidence import data_parts, evidence
from gaugebook.pipeline.book import register
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.bottlings import stated_contents
from gaugebook.pipeline.errors import UnknownRecord
from gaugebook.pipeline.house.settings import STAGES, House
from gaugebook.pipeline.typed.amendments import key_written
from gaugebook.reports.dossier.bottled import Material
from gaugebook.reports.dossier.casks import Age, CaskBehind
from gaugebook.reports.dossier.gauge_errors import GaugeErrors
from gaugebook.reports.dossier.limits import limits_of
from gaugebook.reports.dossier.records import (
    SEVERITIES,
    Amendment,
    Balance,
    Batch,
    Botanical,
    Bottling,
    Decision,
    Edge,
    Ferment,
    Flag,
    FlagState,
    Gauge,
    Lot,
    Panel,
    Result,
    RuleInForce,
    RulesApplied,
    Run,
    SourceFile,
    SourceLocation,
    Stage,
    Standing,
    Yield,
)  # fmt: skip
from gaugebook.reports.page.provenance import Provenance
from gaugebook.reports.runs.run_figures import figures_of

_HERE = Path(__file__).parent
_Record = TypeVar("_Record")


def batch_codes(book: Book, since: datetime | None = None) -> list[str]:
    """Batches in the order of their bottling; only those bottled at this moment or later where one is given."""
    sql = "SELECT batch FROM derived.bottlings WHERE bottled_at >= coalesce(?, bottled_at) ORDER BY bottled_at, batch"
    return book.frame(sql, [since])["batch"].to_list()


def require_known(book: Book, codes: Iterable[str]) -> None:
    """Raise where the book holds no batch of one of these names.

    Raises
    ------
    UnknownRecord
        The sentence gives the nearest names.
    """
    known = batch_codes(book)
    for code in codes:
        if code not in known:
            raise UnknownRecord(_unknown(code, known))


def gather_batch(book: Book, house: House, code: str) -> Batch:
    """One batch with everything that its dossier shows.

    Raises
    ------
    UnknownRecord
        If the book holds no batch of this name; the sentence gives the nearest ones.
    """
    require_known(book, [code])
    bottlings = _all(book, Bottling, "derived.bottlings WHERE batch = $batch", batch=code)
    edges = _all(book, Edge, "derived.lineage WHERE batch = $batch ORDER BY depth DESC, run, lot", batch=code)
    runs, lots = (
        book.frame(f"SELECT {what} FROM derived.ancestor_{what}s WHERE batch = ? ORDER BY ALL", [code])[what].to_list()
        for what in ("run", "lot")
    )
    product = house.product(bottlings[0].product)
    standings = _all(book, Standing, "flagged.standings WHERE batch = $batch", batch=code)
    yields = _all(book, Yield, "derived.batch_yields WHERE batch = $batch", batch=code)
    parts = data_parts(book, [code])[code]
    states = _rows(book, FlagState, "batch_flag_states.sql", batch=code, runs=runs, lots=lots)
    return Batch(
        code=code,
        house=house,
        product=product,
        bottling=bottlings[0],
        standing=standings[0] if standings else None,
        flags=_flags(book, code),
        flag_states={state.flag: state for state in states if state.state not in ("amended away", "gone")},
        amended_away=tuple(state for state in states if state.state == "amended away"),
        decisions=_decisions(book, code, parts),
        provenance=_provenance(book, code),
        state_sha256=sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest(),
        rules=_rows(book, RulesApplied, "batch_rules.sql")[0],
        rules_in_force=_rows(book, RuleInForce, "batch_rules_in_force.sql"),
        stages=_stages(book, runs, edges),
        errors=_errors(book, runs),
        edges=edges,
        lots={item.lot: item for item in _all(book, Lot, "derived.lots WHERE lot IN $lots", lots=lots)},
        results=_all(book, Result, "derived.laboratory WHERE lot IN $lots ORDER BY lot, analyte, unit", lots=lots),
        limits=limits_of(product, bottlings[0].bottled_at.date()),
        botanicals=_all(
            book, Botanical, "derived.botanical_bill WHERE run IN $runs ORDER BY run, botanical", runs=runs
        ),
        materials=_rows(book, Material, "batch_materials.sql", batch=code),
        casks=_rows(book, CaskBehind, "batch_casks.sql", batch=code),
        age=next(iter(_all(book, Age, "derived.ages WHERE lot = $batch", batch=code)), None),
        fills=stated_contents(book, code),
        panels=_all(book, Panel, "typed.panel WHERE lot IN $lots ORDER BY held_at, session", lots=lots),
        batch_yield=yields[0] if yields else None,
        files=_rows(book, SourceFile, "batch_files.sql", batch=code, runs=runs, lots=lots),
        amendments=_rows(book, Amendment, "batch_amendments.sql", batch=code, runs=runs, lots=lots),
        places={
            place.source_id: place
            for place in _all(book, SourceLocation, "landed.sources JOIN received.files USING (file_id)")
        },
    )


def _flags(book: Book, code: str) -> tuple[Flag, ...]:
    of_batch = (
        "flagged.flags WHERE flag IN (SELECT flag FROM flagged.batch_flags WHERE batch = $batch) ORDER BY rule, record"
    )
    flags = _all(book, Flag, of_batch, batch=code)
    return tuple(sorted(flags, key=lambda flag: SEVERITIES.index(flag.severity)))


def _provenance(book: Book, code: str) -> Provenance:
    head = register.state_head(book)
    rules = book.value("SELECT rule_book_sha256 FROM flagged.checked_from")
    profile = book.value("SELECT sha256 FROM received.houses ORDER BY edition DESC LIMIT 1")
    number, own = (head.number, head.own_sha256) if head else (None, None)
    return Provenance(own, number, profile or sha256(b"").hexdigest(), evidence(book, code, rules))


def _decisions(book: Book, code: str, parts: Mapping[str, str]) -> tuple[Decision, ...]:
    """All decisions on the batch, the last first, each with the parts of the data that have changed since."""
    columns = ("decision", "verdict", "person", "role", "reason", "decided_at", "evidence_sha256")
    sql = "SELECT * FROM history.decisions WHERE batch = ? ORDER BY decision DESC"
    decisions = []
    for row in book.frame(sql, [code]).to_dicts():
        then = json.loads(row["data_parts"])
        changed = sorted(part for part in then.keys() | parts.keys() if then.get(part) != parts.get(part))
        stated = {name: row[name] for name in columns}
        decisions.append(Decision(**stated, overruled=tuple(row["overruled"]), changed=tuple(changed)))
    return tuple(decisions)


def _stages(book: Book, runs: list[str], edges: tuple[Edge, ...]) -> tuple[Stage, ...]:
    """The batch's runs by stage, in the order in which this batch went through them: one house filters first, another
    reduces first."""
    all_runs = _all(book, Run, "derived.runs WHERE run IN $runs ORDER BY started_at, run", runs=runs)
    gauges = _all(
        book, Gauge, "derived.gauges WHERE run IN $runs ORDER BY run, direction, gauged_at, part, lot", runs=runs
    )
    balances = {item.run: item for item in _all(book, Balance, "derived.run_balances WHERE run IN $runs", runs=runs)}
    ferments = {item.run: item for item in _all(book, Ferment, "derived.ferment_yields WHERE run IN $runs", runs=runs)}
    curves = figures_of(book, runs)

    def stage(name: str) -> Stage:
        runs_of_stage = tuple(run for run in all_runs if run.stage == name)
        codes = {run.run for run in runs_of_stage}
        return Stage(
            name=name,
            runs=runs_of_stage,
            gauges=tuple(gauge for gauge in gauges if gauge.run in codes),
            balances={code: item for code, item in balances.items() if code in codes},
            ferments={code: item for code, item in ferments.items() if code in codes},
            curves={code: item for code, item in curves.items() if code in codes},
        )

    before_bottling = {edge.run: edge.depth for edge in reversed(edges)}

    def place(name: str) -> tuple[int, int]:
        depths = [before_bottling.get(run.run, 0) for run in all_runs if run.stage == name]
        return -min(depths), STAGES.index(name)

    return tuple(stage(name) for name in sorted({run.stage for run in all_runs}, key=place))


def _errors(book: Book, runs: list[str]) -> GaugeErrors:
    sql = """
        SELECT e.gauge, e.error, e.volume_l, e.alcohol_l
        FROM derived.gauge_errors AS e JOIN derived.gauges AS g USING (gauge)
        WHERE g.run IN $runs ORDER BY ALL
    """
    volume: dict[int, dict[str, float]] = {}
    alcohol: dict[int, dict[str, float]] = {}
    for gauge, error, of_volume, of_alcohol in book.frame(sql, {"runs": runs}).iter_rows():
        volume.setdefault(gauge, {})[error] = of_volume
        alcohol.setdefault(gauge, {})[error] = of_alcohol
    return GaugeErrors(volume, alcohol)


def _all(book: Book, record: type[_Record], of: str, **parameters: Any) -> tuple[_Record, ...]:
    """Every row of a table as records; the record's fields are the columns."""
    columns = ", ".join(field.name for field in fields(record))  # type: ignore[arg-type]
    frame = book.frame(f"SELECT {columns} FROM {of}", parameters)
    return tuple(_record(record, row) for row in frame.iter_rows(named=True))


def _rows(book: Book, record: type[_Record], file: str, **parameters: Any) -> tuple[_Record, ...]:
    """The rows of a .sql file beside this module as records; its columns bear the names of the fields."""
    frame = book.frame((_HERE / file).read_text(encoding="utf-8"), parameters)
    return tuple(_record(record, row) for row in frame.iter_rows(named=True))


def _record(record: type[_Record], row: dict[str, Any]) -> _Record:
    """A row as a record, its lists as tuples and the key of an amended record by its fields."""
    if "record_key" in row:
        row = row | {"record_key": key_written(row["record_key"])}
    return record(**{name: tuple(value) if isinstance(value, list) else value for name, value in row.items()})


def _unknown(code: str, known: list[str]) -> str:
    if not known:
        return f'The book holds no batch "{code}", and no other: receive a bottling record first.'
    near = difflib.get_close_matches(code, known, n=3, cutoff=0.5)
    hint = f"did you mean {' or '.join(near)}?" if near else 'see "gaugebook batches" for the list.'
    return f'The book holds no batch "{code}": {hint}'
