"""The gauges of the oracle house, in the three sorts that its files hold: movements, dips, and what was there or
came."""

from functools import cached_property
from itertools import chain
from math import hypot, sqrt

from tests.oracle import by_hand_r22 as r22
from tests.oracle.house_by_hand import (
    BAL_1_KG,
    MASS_PCT,
    METERS,
    SHARED,
    SINGLE,
    TEMPERATURE_K,
    VOLUME_PCT,
    Gauge,
    Input,
    gauge_of,
    read,
    utc,
    worked_out,
)

NO_STRENGTH = "no strength was read and none is known of the lot"
FILLS_ML = [float(row["mL"]) for row in read("fills.csv")]
FILL_MEAN_ML = sum(FILLS_ML) / 5  # 701.4 + 699.2 + 703.7 + 683.1 + 702.2 = 3489.6; / 5 = 697.92 mL
BOTTLES = 692
LABORATORY_PCT_VOL = (41.52 + 41.62) / 2  # PROOF-1, two results: 41.57 % vol
WITHOUT_ALCOHOL = {"grain", "botanical", "packaging"}
WATERY = {"water", "wort"}


def u_by_density(strength: float, u_density: float) -> float:
    """Uncertainty [% vol] of a strength by density at 20 °C: that of the density over the slope of density."""
    slope = (
        r22.density(r22.fraction_of(strength + 0.01), 20.0) - r22.density(r22.fraction_of(strength - 0.01), 20.0)
    ) / 0.02
    return abs(u_density / slope)


def _as_stated(volume: float, t: float, strength: float) -> tuple[float, float]:
    p = r22.fraction_of(strength)
    return p, r22.volume_at_20(volume, t, p)


class BookByHand:
    """Everything worked out once."""

    @cached_property
    def moves(self) -> list[dict[str, str]]:
        """Lines of gauges and balance, in one shape."""
        weighed = [
            {
                **row, "dir": "in", "part": "botanical", "vessel": "", "meter": "BAL-1", "lot": row["lot"],
                "kg": str(float(row["net g"]) / 1000), "gauged": row["weighed"], "L": "", "S": "", "read as": "",
                "pieces": "",
            }
            for row in read("balance.csv")
        ]  # fmt: skip
        return [*read("gauges.csv"), *weighed]

    @staticmethod
    def when(row: dict[str, str]):
        """When it was gauged, UTC."""
        return utc(row["gauged"], "%d.%m.%Y %H:%M" if row["file"] == "balance.csv" else "%Y-%m-%d %H:%M")

    @cached_property
    def gauges(self) -> dict[tuple[str, str, str], Gauge]:
        """By run, direction and lot."""
        return {(row["run"], row["dir"], row["lot"]): self._gauge(row) for row in self.moves}

    def _gauge(self, row: dict[str, str]) -> Gauge:
        place = f"{row['file']}:{row['line']}"
        parts = (row["run"], row["dir"], row["lot"], row["part"], row["vessel"], str(self.when(row)))
        alone = "gauge " + " ".join(part for part in parts if part)
        if row["part"] in WITHOUT_ALCOHOL:
            return self.weighed(place, alone, row)
        if row["part"] == "bottles":
            return self.bottled(place, alone)
        if row["part"] in WATERY:
            return self.with_mass(gauge_of(row, alone, float(row["L"]), None), alone)
        if not row["S"]:
            return Gauge(place)
        return gauge_of(row, alone, float(row["L"]) if row["L"] else None, row["read as"])

    @staticmethod
    def weighed(place: str, alone: str, row: dict[str, str]) -> Gauge:
        """Goods: BAL-1 weighs to 0.003 kg, any other to 0.2 %; 0.8 of it the balance's own. RYE-1: 610 kg, 1.22 kg, of
        which 0.976 the balance's and 0.732 the weighing's."""
        gauge = Gauge(place, mass=float(row["kg"]) if row["kg"] else None, alcohol=0.0)
        if gauge.mass is not None:
            u = BAL_1_KG if row["meter"] == "BAL-1" else gauge.mass * MASS_PCT / 100.0
            balance = "instrument BAL-1" if row["meter"] == "BAL-1" else "balance"
            gauge.mass_errors = {balance: SHARED * u, alone: SINGLE * u}
        return gauge

    @staticmethod
    def with_mass(gauge: Gauge, alone: str) -> Gauge:
        """A liquid without alcohol: its mass is as uncertain, as a part of it, as its volume."""
        assert gauge.mass and gauge.volume and gauge.u_volume
        gauge.mass_errors = {alone: gauge.mass * gauge.u_volume / gauge.volume}
        return gauge

    @staticmethod
    def bottled(place: str, alone: str) -> Gauge:
        """692 bottles x 697.92 mL = 482.961 L at 20 °C; x 41.57 % vol = 200.767 LPA."""
        u_result = u_by_density(LABORATORY_PCT_VOL, METERS["DM-2"])
        by_meter, own = SHARED * u_result, SINGLE * u_result / sqrt(2.0)  # two results: JCGM 100, 4.2.3
        litres = BOTTLES * FILL_MEAN_ML / 1000.0

        gauge = worked_out(
            place, alone, _as_stated, volume=Input(litres, litres * VOLUME_PCT / 100.0), t=Input(20.0, TEMPERATURE_K,
            "thermometer"),
            strength=Input(LABORATORY_PCT_VOL, 0.0),
        )  # fmt: skip
        gauge.u_strength = hypot(by_meter, own)
        gauge.errors["instrument DM-2"] = (0.0, by_meter * litres / 100.0)
        gauge.errors["strength of PROOF-1"] = (0.0, own * litres / 100.0)
        return gauge

    @cached_property
    def dips(self) -> dict[str, Gauge]:
        """By lot."""
        return {
            row["lot"]: gauge_of(
                row, f"gauge dip {row['vessel']} {row['lot']} {utc(row['dipped'])}", float(row["L"]), row["read as"]
            )
            for row in read("dips.csv")
        }

    @cached_property
    def openings(self) -> dict[str, Gauge]:
        """By lot: deliveries and the opening inventory."""
        found: dict[str, Gauge] = {}
        for row in [*read("intake.csv"), *read("opening.csv")]:
            place, lot = f"{row['file']}:{row['line']}", row["lot"]
            came = "received" if row["file"] == "intake.csv" else "opening"
            at = utc(row["received" if came == "received" else "counted"])
            alone = "gauge " + " ".join(part for part in (came, lot, row["vessel"], str(at)) if part)
            if row["kind"] == "bottled spirit":
                found[lot] = self.labelled(place, alone)
            elif row.get("read as"):
                found[lot] = gauge_of(row, alone, float(row["L"]), row["read as"])
            elif row["kind"] == "water":
                found[lot] = self.with_mass(gauge_of({**row, "tV": "20"}, alone, float(row["L"]), None), alone)
            else:  # the note of a delivery says its weight: 0.2 %, shared with nothing
                found[lot] = Gauge(place, mass=float(row["kg"]) if row["kg"] else None, alcohol=0.0)
                if row["kg"]:
                    found[lot].mass_errors = {alone: float(row["kg"]) * MASS_PCT / 100.0}
        return found

    @staticmethod
    def labelled(place: str, alone: str) -> Gauge:
        """57 bottles x 700 mL = 39.9 L; x 41.5 % vol = 16.5585 LPA. A label may be 0.3 % vol off either way (Regulation
        (EU) 1169/2011, annex XII): u = 0.3 / sqrt 3 = 0.1732 (JCGM 100, 4.3.7), split as any other."""
        u_strength = 0.3 / sqrt(3.0)
        gauge = worked_out(
            place, alone, _as_stated, volume=Input(39.9, 39.9 * VOLUME_PCT / 100.0),
            t=Input(20.0, TEMPERATURE_K, "thermometer"), strength=Input(41.5, 0.0),
        )  # fmt: skip
        gauge.u_strength = u_strength
        gauge.errors["any label"] = (0.0, SHARED * u_strength * 39.9 / 100.0)
        gauge.errors["strength of GIN-Z"] = (0.0, SINGLE * u_strength * 39.9 / 100.0)
        return gauge

    @cached_property
    def every(self) -> list[Gauge]:
        """All gauges of the house."""
        return list(chain(self.gauges.values(), self.dips.values(), self.openings.values()))
