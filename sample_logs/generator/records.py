"""What people and instruments write down, before it is put into files. Times are local, without a zone."""

from dataclasses import dataclass, field
from datetime import datetime

from numpy.typing import NDArray

from .mixing import Liquid


@dataclass
class Run:
    run: str
    stage: str
    equipment: str
    product: str | None
    recipe: str | None
    started: datetime
    ended: datetime
    operator: str
    hearts_from: datetime | None = None
    hearts_to: datetime | None = None
    note: str = ""


@dataclass
class Gauge:
    """A volume and a strength as they were read."""

    volume_l: float | None = None
    volume_temperature_c: float | None = None
    reading: float | None = None
    reading_kind: str | None = None
    reading_temperature_c: float | None = None
    mass_kg: float | None = None
    instrument: str | None = None


@dataclass
class Movement:
    run: str
    direction: str
    lot: str
    part: str
    vessel: str | None
    gauged: datetime
    gauge: Gauge
    note: str = ""
    by_balance: bool = False  # weighed on the botanicals balance, which writes its own file


@dataclass
class Log:
    """Minute values of a still in SI units; `clock_error_min` is what the logger's clock adds."""

    run: str
    still: str
    started: datetime
    values: dict[str, NDArray]
    clock_error_min: int = 0


@dataclass
class Result:
    """One laboratory value; `text` is what is written where it is not the plain number."""

    sample: str
    lot: str
    measured: datetime
    analyte: str
    value: float
    replicate: int = 1
    below_limit: bool = False
    typed_by_hand: bool = False
    distilled: bool = False


@dataclass
class Bottling:
    batch: str
    run: str
    product: str
    bottled: datetime
    nominal_ml: float
    label_pct_vol: float
    filled: int
    rejected: int
    operator: str
    fills_ml: list[float]


@dataclass
class Receipt:
    lot: str
    material: str
    kind: str
    supplier: str
    received: datetime
    quantity: float
    unit: str  # kg, l or pieces
    extract_pct: float | None = None
    moisture_pct: float | None = None
    condition: str = ""
    best_before: datetime | None = None


@dataclass
class Dip:
    vessel: str
    lot: str
    gauged: datetime
    gauge: Gauge


@dataclass
class Panel:
    session: str
    lot: str
    reference_lot: str
    held: datetime
    assessors: int
    correct: int


@dataclass
class Check:
    instrument: str
    checked: datetime
    reference: float
    reading: float
    unit: str
    due: datetime


@dataclass
class Working:
    """The truth of a run: what went in, came out and was lost, as masses."""

    run: str
    into: list[tuple[str, Liquid]]
    out: list[tuple[str, Liquid]]
    lost: list[tuple[str, Liquid]]
    gas_kg: float = 0.0  # carbon dioxide of a ferment
    yeast_kg: float = 0.0  # grown in a ferment, cropped


@dataclass
class Fault:
    """A planted fault and the rule that must find it."""

    fault: str
    rule: str
    records: list[str]
    stops_release: bool
    where: str


@dataclass
class Book:
    runs: list[Run] = field(default_factory=list)
    movements: list[Movement] = field(default_factory=list)
    logs: list[Log] = field(default_factory=list)
    results: list[Result] = field(default_factory=list)
    bottlings: list[Bottling] = field(default_factory=list)
    receipts: list[Receipt] = field(default_factory=list)
    dips: list[Dip] = field(default_factory=list)
    panels: list[Panel] = field(default_factory=list)
    checks: list[Check] = field(default_factory=list)
    workings: list[Working] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
