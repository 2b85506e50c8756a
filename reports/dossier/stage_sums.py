"""Several runs or gauges as one: sums and ratios, uncertain by the errors that their instruments have in common."""

from collections.abc import Iterable
from dataclasses import dataclass

from gaugebook.reports.dossier.gauge_errors import GaugeErrors
from gaugebook.reports.dossier.records import Balance, Gauge, Stage

PRODUCTS = ("hearts", "spirit", "liquid", "bottles")
WITHOUT_ALCOHOL = ("grain", "fruit", "sugar", "yeast", "water", "wort", "botanical", "sweetening", "packaging")


@dataclass(frozen=True)
class PartSum:
    """All gauges of one part of a stage, taken together."""

    direction: str
    part: str
    lots: int
    mass_kg: float | None
    volume_l: float | None
    u_volume_l: float | None
    alcohol_l: float | None
    u_alcohol_l: float | None
    not_computed: int

    @property
    def strength_pct_vol(self) -> float | None:
        return 100 * self.alcohol_l / self.volume_l if self.alcohol_l and self.volume_l else None


@dataclass(frozen=True)
class Contraction:
    """What is missing in a sum of volumes [L], its standard uncertainty, and its share of what went in."""

    missing_l: float
    u_missing_l: float
    share: float


def balance_of(stage: Stage, errors: GaugeErrors) -> Balance | None:
    """The runs of a stage as one balance; None where none has one, a single run's own where it is alone."""
    rows = list(stage.balances.values())
    if len(rows) <= 1:
        return rows[0] if rows else None

    def total(field: str) -> float | None:
        values = [value for row in rows if (value := getattr(row, field)) is not None]
        return sum(values) if values else None

    def weights(direction: str, parts: Iterable[str] = (), *known: str) -> dict[int, float]:
        """The gauges of runs of which these sums are known: a run that lacks a gauge adds nothing to a sum over it."""
        runs = {row.run for row in rows if all(getattr(row, field) is not None for field in known)}
        return {
            gauge.gauge: 1.0
            for gauge in stage.gauges
            if gauge.run in runs and gauge.direction == direction and gauge.part not in WITHOUT_ALCOHOL
            and (not parts or gauge.part in parts)
        }  # fmt: skip

    def u(field: str, of: dict[int, float]) -> float | None:
        return errors.u_alcohol_l(of) if total(field) is not None else None

    def ratio(field: str, parts: Iterable[str] = ()) -> tuple[float | None, float | None]:
        """A sum over the charge of the runs that have both, with its uncertainty: d(a/b) = da / b - a db / b^2."""
        both = [row for row in rows if getattr(row, field) is not None and row.alcohol_in_l is not None]
        charge = sum(row.alcohol_in_l or 0.0 for row in both)
        if not charge:
            return None, None
        share = sum(getattr(row, field) for row in both) / charge
        above, into = weights("out", parts, field, "alcohol_in_l"), weights("in", (), field, "alcohol_in_l")
        return share, errors.u_alcohol_l(dict.fromkeys(above, 1 / charge) | dict.fromkeys(into, -share / charge))

    missing = [row.missing_gauges for row in rows if row.missing_gauges]
    recovery, u_recovery = ratio("hearts_l", PRODUCTS)
    closure, u_closure = (None, None) if missing else ratio("alcohol_out_l")  # the whole closes only with every gauge
    lost = weights("in", (), "loss_l") | dict.fromkeys(weights("out", (), "loss_l"), -1.0)
    return Balance(
        run=stage.name,
        alcohol_in_l=total("alcohol_in_l"), u_alcohol_in_l=u("alcohol_in_l", weights("in", (), "alcohol_in_l")),
        alcohol_out_l=total("alcohol_out_l"), u_alcohol_out_l=u("alcohol_out_l", weights("out", (), "alcohol_out_l")),
        hearts_l=total("hearts_l"), u_hearts_l=u("hearts_l", weights("out", PRODUCTS, "hearts_l")),
        heads_l=total("heads_l"), tails_l=total("tails_l"), spent_l=total("spent_l"),
        loss_l=total("loss_l"), u_loss_l=u("loss_l", lost),
        recovery=recovery, u_recovery=u_recovery, closure=closure, u_closure=u_closure,
        volume_in_l=total("volume_in_l"), volume_out_l=total("volume_out_l"), hearts_strength_pct_vol=None,
        parts_not_computed=sum(row.parts_not_computed or 0 for row in rows),
        missing_gauges=", ".join(missing) or None,
    )  # fmt: skip


def formed_in(stage: Stage, errors: GaugeErrors, *, with_grain: bool = False) -> tuple[float, float] | None:
    """What fermentation formed in a stage [LPA] and its standard uncertainty; None where nothing is known of it.

    `with_grain` counts only ferments of which the grain is known too.
    """
    known = {
        run: row.alcohol_l
        for run, row in stage.ferments.items()
        if row.alcohol_l is not None and (row.grain_kg or not with_grain)
    }
    if not known:
        return None
    washes = {
        gauge.gauge: 1.0
        for gauge in stage.gauges
        if gauge.run in known and gauge.direction == "out" and gauge.part == "wash"
    }
    return sum(known.values()), errors.u_alcohol_l(washes)


def part_sums(gauges: tuple[Gauge, ...], errors: GaugeErrors) -> tuple[PartSum, ...]:
    """Sums by direction and part, in the order in which they stand."""
    keys = dict.fromkeys((gauge.direction, gauge.part) for gauge in sorted(gauges, key=lambda g: g.direction))
    return tuple(_part_sum(key, [g for g in gauges if (g.direction, g.part) == key], errors) for key in keys)


def _part_sum(key: tuple[str, str], gauges: list[Gauge], errors: GaugeErrors) -> PartSum:
    def total(field: str) -> float | None:
        values = [value for gauge in gauges if (value := getattr(gauge, field)) is not None]
        return sum(values) if values else None

    alone = {gauge.gauge: 1.0 for gauge in gauges}
    volume, alcohol = total("volume_l"), total("alcohol_l")
    direction, part = key
    return PartSum(
        direction=direction,
        part=part,
        lots=len({gauge.lot for gauge in gauges}),
        mass_kg=total("mass_kg"),
        volume_l=volume,
        u_volume_l=errors.u_volume_l(alone) if volume is not None else None,
        alcohol_l=alcohol,
        u_alcohol_l=errors.u_alcohol_l(alone) if alcohol is not None else None,
        not_computed=sum(gauge.not_computed is not None for gauge in gauges),
    )


def contraction(gauges: Iterable[Gauge], errors: GaugeErrors) -> Contraction | None:
    """What is missing in the sum of the volumes; None where one side has no volume."""
    known = [gauge for gauge in gauges if gauge.volume_l is not None]
    into, out = (sum(gauge.volume_l or 0.0 for gauge in known if gauge.direction == way) for way in ("in", "out"))
    if not into or not out:
        return None
    weights = {gauge.gauge: 1.0 if gauge.direction == "in" else -1.0 for gauge in known}
    return Contraction(into - out, errors.u_volume_l(weights), (into - out) / into)
