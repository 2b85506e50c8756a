"""Every still run's curve: read from its own stretch of the log, kept while nothing under it changes, compared."""

import dataclasses
import json
from collections.abc import Iterator
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import polars as pl
from numpy.typing import NDArray

from gaugebook.pipeline.book.code_fingerprint import code_sha256
from gaugebook.pipeline.book.database import Book
from gaugebook.pipeline.derived.curves.analysis import curve_of_run
from gaugebook.pipeline.derived.curves.good_run_comparison import Comparison, compared
from gaugebook.pipeline.derived.curves.log_rows import as_logged
from gaugebook.pipeline.derived.curves.records import NAN, PARTS, Circumstances, Gauged, RunCurve, from_json, to_json
from gaugebook.pipeline.derived.derivation import Derivation
from gaugebook.pipeline.derived.instruments import u_of
from gaugebook.pipeline.engineering.run_curve import FLOW_U_PART, HEAT_OF_STEAM_KWH_KG
from gaugebook.pipeline.house.settings import House
from gaugebook.pipeline.statistics.log_finding import Finding
from gaugebook.pipeline.typed.readings import TAGS

Array = NDArray[np.float64]
Row = dict[str, Any]

HERE = Path(__file__).parent
PIPELINE = HERE.parents[1]
RESTS_ON = ("derived/curves/*.py", "engineering/*.py", "statistics/*.py")  # the code of a curve
RUNS_AT_ONCE = 8  # of one still in the same files, read by one query
CLOCK_OFF_MIN = 20.0  # a log's clock so far off is taken as wrong, and the sheet's cuts are moved to it


def run_curves(book: Book, house: House) -> None:
    """Make derived.run_curves, curve_cuts and curve_findings; read only those logs whose curve is not kept."""
    runs = book.frame((HERE / "curve_runs.sql").read_text(encoding="utf-8")).to_dicts()
    curves = kept_or_new(book, house, runs)
    _write(book, runs, curves, _compared(runs, curves))


RUN_CURVES = Derivation(
    run_curves,
    made_from=(
        "typed.log_blocks", "typed.log_files", "derived.runs", "derived.gauges", "derived.gauge_errors",
        "derived.log_clocks", "derived.run_balances", "derived.run_verdicts",
    ),
    makes=("derived.run_curves", "derived.curve_cuts", "derived.curve_findings", "derived.kept_curves"),
)  # fmt: skip


def kept_or_new(book: Book, house: House, runs: list[Row]) -> list[RunCurve]:
    """The curves of these runs, computed only where none is kept that rests on the same things."""
    kept = {
        (run, fingerprint): curve
        for run, fingerprint, curve in book.frame("SELECT run, fingerprint, curve FROM derived.kept_curves").iter_rows()
    }
    of_runs = [circumstances(row, house) for row in runs]
    prints = [_fingerprint(row, gauged) for row, gauged in zip(runs, of_runs, strict=True)]
    texts = [kept.get((row["run"], fingerprint)) for row, fingerprint in zip(runs, prints, strict=True)]
    new = []
    for places in _read_together(runs, [place for place, text in enumerate(texts) if text is None]):
        for place, log in zip(places, read_logs(book, [runs[place] for place in places]), strict=True):
            texts[place] = to_json(curve_of_run(*log, of_runs[place]))
            new.append((runs[place]["run"], prints[place], texts[place]))
    stale = kept.keys() - set(zip((row["run"] for row in runs), prints, strict=True))
    columns = {"run": pl.String, "fingerprint": pl.String, "curve": pl.String}
    with book.with_temp_view("stale", pl.DataFrame(sorted(stale), schema=["run", "fingerprint"], orient="row")):
        if stale:
            book.execute(
                "DELETE FROM derived.kept_curves WHERE (run, fingerprint) IN (SELECT run, fingerprint FROM stale)"
            )
    book.append("derived.kept_curves", pl.DataFrame(new, schema=columns, orient="row"))
    return [from_json(text) for text in texts if text is not None]


def _read_together(runs: list[Row], places: list[int]) -> Iterator[list[int]]:
    """Places of runs that follow on each other in the same files: rows stored together are unpacked once."""
    batch: list[int] = []
    for place in sorted(places, key=lambda place: (_files(runs[place]), place)):
        if batch and (len(batch) == RUNS_AT_ONCE or _files(runs[place]) != _files(runs[batch[0]])):
            yield batch
            batch = []
        batch.append(place)
    if batch:
        yield batch


def _files(row: Row) -> tuple[str, list[str]]:
    return row["equipment"], row["files"]


def read_logs(book: Book, rows: list[Row]) -> Iterator[tuple[Array, dict[str, Array]]]:
    """Of each run times [s after its log's first row] and values, in the order of its log.

    Only the files that hold these runs are opened, and of those only the groups of rows that may hold them: what is
    read for a run does not grow with the book.
    """
    files = ", ".join(f"'{name}'" for name in rows[0]["files"])
    first, last = min(row["first_at"] for row in rows), max(row["last_at"] for row in rows)
    frame = book.frame(
        f"SELECT * FROM read_parquet([{files}], union_by_name = true) WHERE equipment = ? AND read_at BETWEEN ? AND ?"
        " ORDER BY source_id, line",
        [rows[0]["equipment"], first, last],
    )
    for row in rows:
        own = frame if len(rows) == 1 else frame.filter(pl.col("read_at").is_between(row["first_at"], row["last_at"]))
        own = as_logged(own)
        micros = own["read_at"].dt.epoch("us").to_numpy()
        start = round((row["first_at"] - datetime(1970, 1, 1)).total_seconds() * 1e6)
        filled = [tag for tag in TAGS if tag in own.columns and own[tag].null_count() < own.height]
        yield (micros - start) / 1e6, {tag: own[tag].fill_null(np.nan).to_numpy() for tag in filled}


def circumstances(row: Row, house: House) -> Circumstances:
    """What a run's curve rests on besides its log."""
    still = next((still for still in house.stills if still.code == row["equipment"]), None)
    meters = [item for item in house.instruments if item.kind == "flow meter"]
    gauged = {
        gauge["part"]: Gauged(**{field.name: _number(gauge[field.name]) for field in dataclasses.fields(Gauged)})
        for gauge in row["gauged"] or ()
    }
    offset = row["offset_min"] or 0.0
    offset_s = 60.0 * offset if abs(offset) > CLOCK_OFF_MIN else 0.0
    return Circumstances(
        plates=still.plates if still else 0,
        is_continuous=still is not None and still.kind == "continuous",
        site_pressure_kpa=house.pressure_kpa,
        u_strength_pct_vol=house.uncertainty.alcoholmeter_pct_vol,
        u_temperature_c=house.uncertainty.temperature_c,
        u_flow_part=float(u_of(meters[0], "fraction", 1.0)) if meters else FLOW_U_PART,
        charge_strength_pct_vol=_number(row["charge_strength_pct_vol"]),
        spent_strength_pct_vol=gauged["spent"].strength_pct_vol if "spent" in gauged else NAN,
        gauged={part: gauged[part] for part in PARTS if part in gauged},
        hearts_from_s=_seconds(row, "hearts_from") + offset_s,
        hearts_to_s=_seconds(row, "hearts_to") + offset_s,
    )


def _number(value: float | None) -> float:
    return NAN if value is None else float(value)


def _seconds(row: Row, name: str) -> float:
    return NAN if row[name] is None else float((row[name] - row["first_at"]).total_seconds())


def _fingerprint(row: Row, given: Circumstances) -> str:
    stretch = [row["run"], row["equipment"], str(row["first_at"]), str(row["last_at"]), row["files"]]
    code = code_sha256(PIPELINE, RESTS_ON)
    return sha256(json.dumps([stretch, dataclasses.asdict(given), code]).encode()).hexdigest()


def is_good(curve: RunCurve, is_unusual: bool) -> bool:
    """Whether a run may stand in a band: whole, nothing found, no unusual loss."""
    return bool(curve.profile and curve.hearts_to.by and not curve.findings and not is_unusual)


def _groups(runs: list[Row]) -> Iterator[list[int]]:
    """Places of the runs of one still, stage and recipe, in order of time."""
    groups: dict[tuple[str, str, str], list[int]] = {}
    for place, row in enumerate(runs):
        groups.setdefault((row["equipment"], row["stage"], row["recipe"]), []).append(place)
    yield from groups.values()


def _compared(runs: list[Row], curves: list[RunCurve]) -> list[Comparison]:
    result: dict[int, Comparison] = {}
    for group in _groups(runs):
        good = [is_good(curves[place], runs[place]["is_unusual"]) for place in group]
        result.update(zip(group, compared([curves[place] for place in group], good), strict=True))
    return [result[place] for place in range(len(runs))]


def _write(book: Book, runs: list[Row], curves: list[RunCurve], bands: list[Comparison]) -> None:
    results = list(zip(runs, curves, bands, strict=True))
    tables = {
        "run_curves": [_curve_row(row, curve, band) for row, curve, band in results],
        "curve_cuts": [cut for row, curve, _ in results for cut in _cut_rows(row, curve)],
        "curve_findings": [
            _finding_row(row, finding) for row, curve, band in results for finding in (*curve.findings, *band.findings)
        ],
    }
    for name, rows in tables.items():
        if rows:
            frame = pl.DataFrame(rows, infer_schema_length=None)
            book.append(f"derived.{name}", frame.with_columns(pl.selectors.float().fill_nan(None)))


def _at(row: Row, seconds: float) -> datetime | None:
    return row["first_at"] + timedelta(seconds=round(float(seconds), 3)) if np.isfinite(seconds) else None


def _curve_row(row: Row, curve: RunCurve, band: Comparison) -> Row:
    same = (
        "points", "interval_s", "heat_up_k_min", "hearts_l_h", "hearts_alcohol_l_h", "hearts_reflux_ratio", "steam_kg",
        "heating_kwh",
        "vapour_residual_c", "u_vapour_residual_c", "reached_pct_vol", "stages_needed", "stages_available",
    )  # fmt: skip
    whole = next((part for part in curve.parts if part.part == "all"), None)
    heats = np.array([curve.steam_kg * HEAT_OF_STEAM_KWH_KG, curve.heating_kwh])
    heat = float(np.nansum(heats)) if np.isfinite(heats).any() else NAN
    energy = heat / whole.alcohol_l if whole and whole.alcohol_l > 0 else NAN
    return {name: getattr(curve, name) for name in same} | {
        "run": row["run"], "equipment": row["equipment"], "stage": row["stage"], "log_started_at": row["first_at"],
        "heat_from_at": _at(row, curve.heat_from_s), "vapour_at": _at(row, curve.vapour_at_s),
        "first_drop_at": _at(row, curve.first_drop_s), "u_first_drop_min": curve.u_first_drop_s / 60,
        "hearts_from_sheet_at": row["hearts_from"], "hearts_to_sheet_at": row["hearts_to"],
        "hearts_from_at": _at(row, curve.hearts_from.at_s), "u_hearts_from_min": curve.hearts_from.u_s / 60,
        "hearts_from_by": curve.hearts_from.by or None,
        "hearts_to_at": _at(row, curve.hearts_to.at_s), "u_hearts_to_min": curve.hearts_to.u_s / 60,
        "hearts_to_by": curve.hearts_to.by or None,
        "end_at": _at(row, curve.end_s), "u_end_min": curve.u_end_s / 60,
        "energy_kwh_per_alcohol_l": energy, "likely_wrong": curve.likely_wrong or None,
        "good": is_good(curve, row["is_unusual"]), "band_runs": band.runs, "band": band.band,
        "distance": band.distance, "distance_limit": band.limit,
    }  # fmt: skip


def _cut_rows(row: Row, curve: RunCurve) -> list[Row]:
    gauged = {gauge["part"]: gauge for gauge in row["gauged"] or ()}
    rows = []
    for part in curve.parts:
        held = gauged.get(part.part, {})
        alcohol, u_alcohol = (_number(held.get(name)) for name in ("alcohol_l", "u_alcohol_l"))
        rows.append(
            {
                "run": row["run"], "part": part.part, "from_at": _at(row, part.from_s), "to_at": _at(row, part.to_s),
                "volume_l": part.volume_l, "u_volume_l": part.u_volume_l, "alcohol_l": part.alcohol_l,
                "u_alcohol_l": part.u_alcohol_l, "bridged": part.bridged_part,
                "strength_bridged": part.strength_bridged_part,
                "gauged_volume_l": _number(held.get("volume_l")), "u_gauged_volume_l": _number(held.get("u_volume_l")),
                "gauged_alcohol_l": alcohol, "u_gauged_alcohol_l": u_alcohol,
                "difference_l": part.alcohol_l - alcohol,
                "u_difference_l": float(np.hypot(part.u_alcohol_l, u_alcohol)),
            }
        )  # fmt: skip
    return rows


def _finding_row(row: Row, finding: Finding) -> Row:
    return {
        "run": row["run"], "equipment": row["equipment"], "tag": finding.tag, "kind": finding.kind,
        "from_at": _at(row, finding.first_s), "to_at": _at(row, finding.last_s), "size": finding.size,
        "detail": finding.detail,
    }  # fmt: skip
