"""What a dossier is made of: frozen records of one batch.

A record's fields are the columns of the table that it is read from, so the table's own comments say what each
means. Times are UTC here; figures.py turns them into the house's.
"""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from gaugebook.pipeline.house.settings import House, Product
from gaugebook.reports.dossier.bottled import Bottling, Material, Panel, Yield
from gaugebook.reports.dossier.casks import Age, CaskBehind
from gaugebook.reports.dossier.gauge_errors import GaugeErrors
from gaugebook.reports.dossier.limits import Limit
from gaugebook.reports.page.provenance import Provenance
from gaugebook.reports.runs.run_figures import RunFigure

SEVERITIES = ("stops release", "needs explanation", "for information")
STILL_STAGES = ("strip", "rectify", "botanical")


@dataclass(frozen=True)
class Standing:
    standing: str
    stops_release: int
    needs_explanation: int
    for_information: int


@dataclass(frozen=True)
class Flag:
    flag: str
    rule: str
    record: str
    run: str | None
    lot: str | None
    answer: str
    severity: str
    quantity: str
    value: str | None
    limits: str | None
    unit: str | None
    message: str
    reason: str
    citation: str
    source_id: int | None
    line: int | None


@dataclass(frozen=True)
class FlagState:
    """What became of a flag: its last event, and the person's words where a person gave them."""

    flag: str
    state: str  # open, explained, accepted, amended away, gone
    rule: str
    record: str
    severity: str
    person: str | None
    role: str | None
    reason: str | None
    happened_at: datetime
    attachment: str | None
    attachment_sha256: str | None


@dataclass(frozen=True)
class Decision:
    """What was decided on the batch, and which parts of its data have changed since."""

    decision: int
    verdict: str  # released, held, rejected
    person: str
    role: str
    reason: str
    overruled: tuple[str, ...]
    decided_at: datetime
    evidence_sha256: str
    changed: tuple[str, ...]


@dataclass(frozen=True)
class RuleInForce:
    """A rule as the reader sees it; `records` is how many of the whole book it looked at."""

    rule: str
    quantity: str
    compared: str
    unit: str | None
    severity: str
    citation: str
    by_house: bool
    of_law: bool
    softened: str | None  # below the law, eased; of a rule of law that the house profile lowered
    softened_by: str | None
    records: int


@dataclass(frozen=True)
class Gauge:
    gauge: int
    run: str
    direction: str
    lot: str
    part: str
    vessel: str | None
    gauged_at: datetime | None
    mass_kg: float | None
    volume_l: float | None
    u_volume_l: float | None
    strength_reading: float | None
    reading_kind: str | None
    reading_temperature_c: float | None
    strength_pct_vol: float | None
    u_strength_pct_vol: float | None
    strength_is: str | None
    alcohol_l: float | None
    u_alcohol_l: float | None
    not_computed: str | None
    source_id: int | None
    line: int | None


@dataclass(frozen=True)
class Balance:
    run: str
    alcohol_in_l: float | None
    u_alcohol_in_l: float | None
    alcohol_out_l: float | None
    u_alcohol_out_l: float | None
    heads_l: float | None
    hearts_l: float | None
    u_hearts_l: float | None
    tails_l: float | None
    spent_l: float | None
    loss_l: float | None
    u_loss_l: float | None
    recovery: float | None
    u_recovery: float | None
    closure: float | None
    u_closure: float | None
    volume_in_l: float | None
    volume_out_l: float | None
    hearts_strength_pct_vol: float | None
    parts_not_computed: int | None
    missing_gauges: str | None


@dataclass(frozen=True)
class Ferment:
    run: str
    original_gravity: float | None
    final_gravity: float | None
    apparent_attenuation: float | None
    grain_kg: float | None
    wash_volume_l: float | None
    wash_strength_pct_vol: float | None
    alcohol_l: float | None
    u_alcohol_l: float | None
    predicted_alcohol_l: float | None
    yield_l_per_t: float | None
    u_yield_l_per_t: float | None
    predicted_yield_l_per_t: float | None
    yield_ratio: float | None
    malt_lots: tuple[str, ...] | None


@dataclass(frozen=True)
class Run:
    run: str
    stage: str
    equipment: str
    product: str | None
    recipe: str | None
    started_at: datetime
    ended_at: datetime | None
    operator: str | None
    hearts_from: datetime | None
    hearts_to: datetime | None
    source_id: int
    line: int


@dataclass(frozen=True)
class Stage:
    name: str
    runs: tuple[Run, ...]
    gauges: tuple[Gauge, ...]
    balances: dict[str, Balance]
    ferments: dict[str, Ferment]
    curves: dict[str, RunFigure]  # by run, of those with a log


@dataclass(frozen=True)
class Edge:
    """A lot that went into a run on the way to the batch."""

    run: str
    stage: str
    lot: str
    into_lot: str
    depth: int
    share: float | None
    quantity: float | None
    basis: str | None


@dataclass(frozen=True)
class Lot:
    lot: str
    origin: str
    material: str | None
    made_by_run: str | None


@dataclass(frozen=True)
class Result:
    """The accepted laboratory value of a lot and analyte."""

    lot: str
    analyte: str
    value: float | None
    unit: str
    u_value: float | None
    below_limit: bool
    replicates: int
    spread: float | None
    per_alcohol_g_hl: float | None
    samples: str | None
    methods: str | None
    measured_at: datetime | None
    source_id: int | None
    line: int | None


@dataclass(frozen=True)
class Botanical:
    run: str
    botanical: str
    lots: tuple[str, ...] | None
    charged_kg: float | None
    alcohol_l: float | None
    charged_g_per_lpa: float | None
    recipe_g_per_lpa: float | None
    ratio: float | None
    condition: str | None
    recipe_condition: str | None


@dataclass(frozen=True)
class SourceFile:
    """A file that this batch rests on; rows are counted over the whole file."""

    file_id: int
    name: str
    sha256: str
    size_bytes: int
    map: str
    kept: int
    refused: int


@dataclass(frozen=True)
class SourceLocation:
    """What a source is: a file, or one sheet of it."""

    source_id: int
    file_id: int
    name: str
    sheet: str | None


@dataclass(frozen=True)
class Amendment:
    """One change of one value, with the run, lot or analyte of the record that holds it now."""

    amendment: int
    kind: str
    record: str
    record_key: dict[str, str | None] | None
    field: str
    old_value: str | None
    new_value: str | None
    person: str
    reason: str
    amended_at: datetime
    source_id: int
    line: int
    run: str | None
    lot: str | None
    analyte: str | None


@dataclass(frozen=True)
class RulesApplied:
    rules: int
    records: int
    not_evaluated: int


@dataclass(frozen=True)
class Batch:
    code: str
    house: House
    product: Product | None
    bottling: Bottling
    standing: Standing | None
    flags: tuple[Flag, ...]
    flag_states: dict[str, FlagState]  # of the flags before the batch
    amended_away: tuple[FlagState, ...]
    decisions: tuple[Decision, ...]  # the one in force first
    provenance: Provenance
    state_sha256: str  # of the batch's records in the book
    rules: RulesApplied
    rules_in_force: tuple[RuleInForce, ...]
    stages: tuple[Stage, ...]
    errors: GaugeErrors
    edges: tuple[Edge, ...]
    lots: dict[str, Lot]
    results: tuple[Result, ...]
    limits: dict[str, Limit]
    botanicals: tuple[Botanical, ...]
    materials: tuple[Material, ...]
    casks: tuple[CaskBehind, ...]
    age: Age | None  # where a part of it lay in wood
    fills: tuple[float, ...]  # at the temperature at which the label states contents
    panels: tuple[Panel, ...]
    batch_yield: Yield | None
    files: tuple[SourceFile, ...]
    amendments: tuple[Amendment, ...]
    places: dict[int, SourceLocation]

    def place(self, record: Any) -> str:
        """File, sheet and line that a record was read from, or an empty text."""
        place = self.places.get(record.source_id)
        if place is None:
            return ""
        sheet = f", sheet {place.sheet}" if place.sheet else ""
        return f"{place.name}{sheet}" + (f":{record.line}" if record.line is not None else "")

    def state_of(self, flag: Flag) -> str:
        """Open, or what became of it."""
        lifecycle = self.flag_states.get(flag.flag)
        return lifecycle.state if lifecycle else "open"

    @property
    def bottled_lots(self) -> tuple[str, ...]:
        """Lots that the bottle run drew, water and packaging left out, then the batch itself."""
        bottle = next((stage for stage in self.stages if stage.name == "bottle"), None)
        drawn = (gauge for gauge in bottle.gauges if gauge.direction == "in") if bottle else ()
        return (*(gauge.lot for gauge in drawn if gauge.part not in ("water", "packaging")), self.code)
