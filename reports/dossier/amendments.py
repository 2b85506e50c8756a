"""Amended values in a dossier: the table of them, and which figures rest on one and so carry the sign."""

from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from gaugebook.pipeline.typed.kinds import RECORDS
from gaugebook.reports.dossier.bottled import Panel
from gaugebook.reports.dossier.records import Amendment, Balance, Batch, Botanical, Ferment, Flag, Gauge, Result, Stage
from gaugebook.reports.dossier.stage_sums import PartSum
from gaugebook.reports.page.language import Language

_READING = {"strength_reading", "reading_kind", "reading_temperature_c", "instrument"}
_NAMED = {"run", "direction", "lot", "part"}
# What a figure of a gauge is made from; volume and mass come from each other through the density, so the strength too.
_GAUGE_RESTS_ON = {
    "reading": _READING,
    "strength": _READING | _NAMED,
    "amount": _READING | _NAMED | {"volume_at_t_l", "volume_temperature_c", "vessel", "mass_kg"},
}


@dataclass(frozen=True)
class AmendedValue:
    """One value that was amended, once or several times; first and last as they are shown."""

    kind: str
    record: str
    field: str
    first: str
    now: str
    place: Amendment
    changes: tuple[Amendment, ...]


def amended_values(batch: Batch, language: Language) -> tuple[AmendedValue, ...]:
    """Every amended value of the records behind the batch, in the order of their first amendment."""
    by_value: dict[tuple[object, ...], dict[int, Amendment]] = {}
    for item in batch.amendments:
        key = tuple(item.record_key.items()) if item.record_key else item.record
        by_value.setdefault((item.kind, key, item.field), {})[item.amendment] = item
    return tuple(_value(tuple(changes.values()), batch.house.time_zone, language) for changes in by_value.values())


def _value(changes: tuple[Amendment, ...], zone: str, language: Language) -> AmendedValue:
    last = changes[-1]
    parts = (
        [_shown(last.kind, name, part, zone, language) for name, part in last.record_key.items() if part]
        if last.record_key
        else [last.record]
    )
    return AmendedValue(
        kind=last.kind,
        record=" / ".join(parts),
        field=last.field,
        first=_shown(last.kind, last.field, changes[0].old_value, zone, language),
        now=_shown(last.kind, last.field, last.new_value, zone, language),
        place=last,
        changes=changes,
    )


def _shown(kind: str, field: str, text: str | None, zone: str, language: Language) -> str:
    """A stored value as a person reads it; the book's times are UTC."""
    if text is None:
        return language.say("amended.blank")
    if RECORDS[kind].field(field).type == "time":
        return language.moment(datetime.fromisoformat(text), zone)
    return text


class Marks:
    """Answers for each figure of a batch whether it rests on an amended record."""

    def __init__(self, batch: Batch) -> None:
        self._batch = batch
        self._of = {kind: [item for item in batch.amendments if item.kind == kind] for kind in RECORDS}
        self._places = {(item.source_id, item.line) for item in batch.amendments}
        self._intake = {item.lot for item in self._of["intake"]}
        self._results = {(item.lot, item.analyte) for item in self._of["laboratory"]}
        # A density is told as the strength that it stands for.
        self._results |= {(lot, "strength") for lot, analyte in self._results if analyte == "density"}
        self._gauges: dict[tuple[str, str, int | None, int | None], set[str]] = {}
        for item in self._of["movements"]:
            key = (item.run or "", item.lot or "", item.source_id, item.line)
            self._gauges.setdefault(key, set()).add(item.field)

    def flag(self, flag: Flag) -> bool:
        return (flag.source_id, flag.line) in self._places

    def run(self, code: str) -> bool:
        """The run's own record, or any figure of its gauges."""
        return any(item.run == code for item in self._of["runs"]) or code in self._gauged_runs

    def gauge(self, gauge: Gauge, figure: str) -> bool:
        """A figure of one gauge: its "reading", its "strength", or an "amount" (mass, volume, alcohol)."""
        if not self._batch.amendments:
            return False
        read = self._gauges.get((gauge.run, gauge.lot, gauge.source_id, gauge.line), set())
        if read & _GAUGE_RESTS_ON[figure] or any(_same_reading(gauge, amended) for amended in self._amended_readings):
            return True
        if figure != "reading" and self._strength_known_of(gauge.lot):
            return True
        return figure == "amount" and gauge.part == "bottles" and self.bottles

    def part(self, part: PartSum, stage: str) -> bool:
        """The sum of a stage's gauges of one part."""
        same = (part.direction, part.part)
        gauges = (gauge for item in self._batch.stages if item.name == stage for gauge in item.gauges)
        return any(self.gauge(gauge, "amount") for gauge in gauges if (gauge.direction, gauge.part) == same)

    def balance(self, balance: Balance) -> bool:
        """The balance of a run, or of all runs of a stage under the stage's name."""
        runs = (run.run for stage in self._batch.stages if stage.name == balance.run for run in stage.runs)
        return any(code in self._gauged_runs for code in (balance.run, *runs))

    def stage(self, stage: Stage) -> bool:
        """What is said of a whole stage."""
        return any(self.run(run.run) for run in stage.runs) or any(map(self.ferment, stage.ferments.values()))

    def ferment(self, ferment: Ferment) -> bool:
        """Yield and attenuation: the run, its gravities, and the mash and grain that its wort came from."""
        gauges = [gauge for stage in self._batch.stages for gauge in stage.gauges]
        lots = {gauge.lot for gauge in gauges if gauge.run == ferment.run}
        mashes = {
            gauge.run for gauge in gauges if gauge.direction == "out" and gauge.part == "wort" and gauge.lot in lots
        }
        malts = set(ferment.malt_lots or ())
        gravities = {(lot, "specific_gravity") for lot in lots}
        return (
            self.run(ferment.run)
            or bool(gravities & self._results or malts & self._intake)
            or any(code in self._gauged_runs for code in mashes)
        )

    def botanical(self, botanical: Botanical) -> bool:
        lots = set(botanical.lots or ())
        return botanical.run in self._gauged_runs or bool(lots & self._intake)

    def result(self, result: Result) -> bool:
        return (result.lot, result.analyte) in self._results

    def panel(self, panel: Panel) -> bool:
        return any((item.record_key or {}).get("session") == panel.session for item in self._of["panel"])

    def bottled(self, *fields: str) -> bool:
        """These fields of the bottling record."""
        return any(item.field in fields for item in self._of["bottling"])

    @property
    def fills(self) -> bool:
        return bool(self._of["fills"])

    @property
    def bottles(self) -> bool:
        """What was bottled, in bottles or litres."""
        return self.fills or self.bottled("bottles_filled", "bottles_rejected", "nominal_ml")

    @property
    def strength(self) -> bool:
        """The laboratory's strength of the bottled liquid."""
        return any((lot, "strength") in self._results for lot in self._batch.bottled_lots)

    @property
    def grain_to_bottle(self) -> bool:
        return bool(self._gauged_runs or self._intake or self.bottles or self.strength)

    @cached_property
    def _gauged_runs(self) -> set[str]:
        gauges = (gauge for stage in self._batch.stages for gauge in stage.gauges)
        return {gauge.run for gauge in gauges if self.gauge(gauge, "amount")}

    @cached_property
    def _amended_readings(self) -> list[Gauge]:
        """Gauges whose amended strength a later draw of the same lot may have taken over."""
        return [
            gauge
            for stage in self._batch.stages
            for gauge in stage.gauges
            if gauge.direction == "out"
            and self._gauges.get((gauge.run, gauge.lot, gauge.source_id, gauge.line), set()) & _READING
        ]

    def _strength_known_of(self, lot: str) -> bool:
        """Whether the laboratory's word on the strength of this lot was amended."""
        lots = self._batch.bottled_lots if lot == self._batch.code else (lot,)
        return any((item, analyte) in self._results for item in lots for analyte in ("strength", "dry_extract"))


def _same_reading(gauge: Gauge, amended: Gauge) -> bool:
    def read(item: Gauge) -> tuple[str, float | None, str | None, float | None]:
        return item.lot, item.strength_reading, item.reading_kind, item.reading_temperature_c

    return read(gauge) == read(amended)
