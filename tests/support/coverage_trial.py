"""Simulated runs with known truth, received as files into books: how often the truth lies within twice the stated u.

Each case is a day with one alcoholmeter: three lots weighed at 60, 90 and 96 % vol, six lots of six tanks blended
without loss, a strip run and a rectifying run. Its instruments are its own; balance and thermometer are the book's.
Readings are written from physics alone: the general formula of OIML R 22 (tests/support/r22_formula.py), the glass of
an alcoholmeter (25e-6 per kelvin, OIML R 22), the buoyancy of air (1.2 and 8000 kg/m3, OIML R 22, Table XII). Nothing
of the code under test takes part in making them.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from r22_formula import density
from small_house import MOVES_MAP, RUNS_MAP

from gaugebook.pipeline.book.database import Book, open_book
from gaugebook.pipeline.intake.flow import receive

Array = NDArray[np.float64]
U_READING_PCT_VOL, U_VOLUME_PCT, U_MASS_PCT, U_TEMPERATURE_C = 0.15, 0.3, 0.1, 0.3
ETHANOL_KG_M3 = density(1.0, 20.0)
GLASS_PER_K, STEEL_PER_K = 25e-6, 51e-6
WEIGHED = (60.0, 90.0, 96.0)
RUN_HEAD = "run,stage,equipment,product,recipe,started,ended,operator"
MOVE_HEAD = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg,with"


def _solved(rising: Callable[[Array], Array], low: float, high: float, size: int) -> Array:
    """Where functions that rise through 0 do so, by bisection."""
    lowest, highest = np.full(size, low), np.full(size, high)
    for _ in range(50):
        middle = (lowest + highest) / 2.0
        below = rising(middle) < 0.0
        lowest, highest = np.where(below, middle, lowest), np.where(below, highest, middle)
    return (lowest + highest) / 2.0


def mass_fraction(strength: Array) -> Array:
    """Mass fraction of mixtures of strengths [% vol]: strength is the ethanol's volume over the mixture's, at 20 °C."""
    return _solved(lambda p: 100.0 * p * density(p, 20.0) / ETHANOL_KG_M3 - strength, 0.0, 1.0, len(strength))


@dataclass(frozen=True)
class Style:
    """How much of an instrument's error is scatter: as simulated, and as the house profile says (None: nothing)."""

    name: str
    simulated: float
    stated: float | None


DEFAULT = Style("profile says nothing", 0.3, None)
STYLES = (Style("half is scatter", 0.5, 0.5), Style("no scatter, profile says nothing", 0.0, None))


@dataclass
class Coverage:
    """Counts by quantity: how many truths lay within 2 u, of how many."""

    within: Counter = field(default_factory=Counter)
    tried: Counter = field(default_factory=Counter)
    runs: int = 0

    def add(self, quantity: str, truth: float, stated: float | None, u: float | None) -> None:
        """A quantity that the book does not state is an error of the trial."""
        assert stated is not None and u is not None, f"the book states no {quantity}"
        self.tried[quantity] += 1
        self.within[quantity] += abs(stated - truth) <= 2.0 * u

    def share(self, quantity: str) -> float:
        return self.within[quantity] / self.tried[quantity]

    def table(self) -> str:
        rows = [f"{name:<28}{self.tried[name]:>7}{100 * self.share(name):>8.1f} %" for name in self.tried]
        return "\n".join([f"{self.runs} runs: truth within twice the standard uncertainty", *rows])


class _Files:
    """Runs and movements of one book, with what is true of each gauge."""

    def __init__(self, rng: np.random.Generator, scatter: float) -> None:
        self.rng, self.scatter, self.shared = rng, scatter, np.sqrt(1.0 - scatter**2)
        self.runs, self.moves, self.alcohol = [RUN_HEAD], [MOVE_HEAD], {}
        self.instruments: list[str] = []
        self.vessels: dict[str, float] = {}  # by code, its scale error in standard uncertainties
        self.balance, self.thermometer = rng.standard_normal(2)
        self._rows: list[tuple] = []

    def _error(self, of_instrument: float, size: int = 1) -> Array:
        return self.shared * of_instrument + self.scatter * self.rng.standard_normal(size)

    def run(self, run: str, stage: str) -> None:
        self.runs.append(f"{run},{stage},E1,,,2031-05-02 08:00,2031-05-02 16:00,AB")

    def gauge(
        self,
        run: str,
        way: str,
        lot: str,
        part: str,
        alcohol: float,
        strength: float,
        meter: tuple[str, float],
        vessel: str = "",
    ) -> None:
        """A lot with so much alcohol [LPA]: in a vessel by its scale, without one by weighing."""
        self._rows.append((run, way, lot, part, alcohol, strength, *meter, vessel))
        self.alcohol[run, way, lot] = alcohol

    def read(self) -> None:
        """All gauges as they were read, at once."""
        alcohol, strength, of_meter = (np.array([row[n] for row in self._rows]) for n in (4, 5, 7))
        n, rng = len(alcohol), self.rng
        vessels = [row[8] for row in self._rows]
        for vessel in vessels:
            self.vessels.setdefault(vessel, rng.standard_normal())
        p = mass_fraction(strength)
        rho_20 = density(p, 20.0)
        volume_20 = 100.0 * alcohol / strength
        # in the cylinder: the alcoholmeter sinks to the strength whose density at 20 °C balances its expanded glass
        t = rng.uniform(12.0, 24.0, n)
        sought = density(p, t) * (1.0 + GLASS_PER_K * (t - 20.0))
        shown_p = _solved(lambda q: sought - density(q, 20.0), 0.0, 1.0, n)
        shown = 100.0 * shown_p * density(shown_p, 20.0) / ETHANOL_KG_M3
        reading = shown + U_READING_PCT_VOL * (self.shared * of_meter + self.scatter * rng.standard_normal(n))
        t_read = t + U_TEMPERATURE_C * self._error(self.thermometer, n)
        # in the vessel, whose scale is right at 20 °C
        t_v = rng.uniform(12.0, 24.0, n)
        volume_t = volume_20 * rho_20 / density(p, t_v) / (1.0 + STEEL_PER_K * (t_v - 20.0))
        of_vessel = self.shared * np.array([self.vessels[v] for v in vessels]) + self.scatter * rng.standard_normal(n)
        volume_read = volume_t * (1.0 + U_VOLUME_PCT / 100.0 * of_vessel)
        t_v_read = t_v + U_TEMPERATURE_C * self._error(self.thermometer, n)
        # on the balance, in air
        mass = volume_20 * rho_20 / 1000.0 * (1.0 - 1.2 / rho_20) / (1.0 - 1.2 / 8000.0)
        mass_read = mass * (1.0 + U_MASS_PCT / 100.0 * self._error(self.balance, n))
        for i, (run, way, lot, part, _, _, meter, _, vessel) in enumerate(self._rows):
            amount = f"{volume_read[i]:.6f},{t_v_read[i]:.6f}" if vessel else ","
            kg = "" if vessel else f"{mass_read[i]:.6f}"
            self.moves.append(
                f"{run},{way},{lot},{part},{vessel},{amount},{reading[i]:.6f},alcoholmeter,{t_read[i]:.6f},{kg},{meter}"
            )


def _case(files: _Files, n: int) -> None:
    rng = files.rng
    meter = (f"M{n}", rng.standard_normal())
    files.instruments.append(meter[0])
    files.run(f"WEI-{n}", "blend")
    for strength in WEIGHED:
        files.gauge(f"WEI-{n}", "in", f"W{strength:g}-{n}", "spirit", rng.uniform(100, 200), strength, meter)
    files.run(f"SIX-{n}", "blend")
    lots = rng.uniform(150, 350, 6)
    for k, alcohol in enumerate(lots):
        files.gauge(f"SIX-{n}", "in", f"S{k}-{n}", "spirit", alcohol, rng.uniform(85, 93), meter, f"V{n}-{k}")
    files.gauge(f"SIX-{n}", "out", f"B-{n}", "spirit", lots.sum(), 89.0, meter, f"V{n}-B")
    _still(files, n, "STR", "strip", rng.uniform(8, 11), {"hearts": 0.93, "tails": 0.03}, (75.0, 25.0), meter)
    _still(
        files,
        n,
        "REC",
        "rectify",
        rng.uniform(70, 90),
        {"heads": 0.03, "hearts": 0.88, "tails": 0.05},
        (93.0, 95.5, 60.0),
        meter,
    )


def _still(
    files: _Files, n: int, key: str, stage: str, charge_strength: float, parts: dict[str, float],
    strengths: tuple[float, ...], meter: tuple[str, float],
) -> None:  # fmt: skip
    """Charge and hearts in tanks, the rest weighed."""
    run, charge = f"{key}-{n}", files.rng.uniform(200, 300)
    files.run(run, stage)
    part = "wash" if stage == "strip" else "spirit"
    files.gauge(run, "in", f"{run}-C", part, charge, charge_strength, meter, f"{run}-VC")
    for (name, share), strength in zip(parts.items(), strengths, strict=True):
        vessel = f"{run}-VH" if name == "hearts" else ""
        files.gauge(
            run, "out", f"{run}-{name}", name, charge * share * files.rng.uniform(0.99, 1.0), strength, meter, vessel
        )


def _house(files: _Files, stated: float | None) -> str:
    lines = [
        "[house]", 'name = "Coverage (invented)"', 'time_zone = "UTC"', "site_altitude_m = 0.0",
        "[uncertainty]", f"volume_pct = {U_VOLUME_PCT}", f"mass_pct = {U_MASS_PCT}",
        f"temperature_c = {U_TEMPERATURE_C}", f"alcoholmeter_pct_vol = {U_READING_PCT_VOL}",
        *([] if stated is None else [f"scatter = {stated}"]),
    ]  # fmt: skip
    for code in files.instruments:
        lines += ["[[instruments]]", f'code = "{code}"', 'kind = "alcoholmeter"', f'name = "{code}"',
                  f"u = {U_READING_PCT_VOL}", 'unit = "pct_vol"']  # fmt: skip
    for code in filter(None, files.vessels):
        lines += ["[[vessels]]", f'code = "{code}"', f'name = "{code}"', "capacity_l = 9000.0"]
    return "\n".join(lines) + "\n"


def simulate_book(folder: Path, seed: int, cases: int, style: Style, coverage: Coverage) -> None:
    """Write a book's files, receive them, and compare what the book states with what is true."""
    files = _Files(np.random.default_rng(seed), style.simulated)
    for n in range(cases):
        _case(files, n)
    files.read()
    (folder / "maps").mkdir(parents=True)
    (folder / "maps" / "runs.toml").write_text(RUNS_MAP, encoding="utf-8")
    (folder / "maps" / "moves.toml").write_text(MOVES_MAP + 'instrument = "with"\n', encoding="utf-8")
    (folder / "house.toml").write_text(_house(files, style.stated), encoding="utf-8")
    (folder / "runs.csv").write_text("\n".join(files.runs) + "\n", encoding="utf-8")
    (folder / "moves.csv").write_text("\n".join(files.moves) + "\n", encoding="utf-8")
    outcomes = receive(folder / "book", [folder], None)
    assert len(outcomes) == 2
    with open_book(folder / "book") as book:
        assert book.value("SELECT count(*) FROM typed.refused") == 0
        _compare(book, files, cases, coverage)
    coverage.runs += 4 * cases


def _compare(book: Book, files: _Files, cases: int, coverage: Coverage) -> None:
    gauges = {
        (row["run"], row["direction"], row["lot"]): row for row in book.frame("SELECT * FROM derived.gauges").to_dicts()
    }
    verdicts = dict(book.frame("SELECT run, verdict FROM derived.run_verdicts").rows())
    balances = {row["run"]: row for row in book.frame("SELECT * FROM derived.run_balances").to_dicts()}
    truth = files.alcohol
    for n in range(cases):
        for strength in WEIGHED:
            key = (f"WEI-{n}", "in", f"W{strength:g}-{n}")
            coverage.add(
                f"weighed at {strength:g} % vol", truth[key], gauges[key]["alcohol_l"], gauges[key]["u_alcohol_l"]
            )
        of = balances[f"SIX-{n}"]
        six = sum(truth[f"SIX-{n}", "in", f"S{k}-{n}"] for k in range(6))
        coverage.add("sum of six lots", six, of["alcohol_in_l"], of["u_alcohol_in_l"])
        coverage.add("loss of a blend without loss", 0.0, of["loss_l"], of["u_loss_l"])
        coverage.tried["blend without loss closes"] += 1
        coverage.within["blend without loss closes"] += verdicts[f"SIX-{n}"] == "closes"
        for key, stage in (("STR", "strip"), ("REC", "rectify")):
            run = f"{key}-{n}"
            charge = truth[run, "in", f"{run}-C"]
            out = sum(alcohol for (name, way, _), alcohol in truth.items() if name == run and way == "out")
            of = balances[run]
            coverage.add(f"{stage}: loss", charge - out, of["loss_l"], of["u_loss_l"])
            hearts = truth[run, "out", f"{run}-hearts"]
            coverage.add(f"{stage}: recovery", hearts / charge, of["recovery"], of["u_recovery"])
            coverage.add(f"{stage}: closure", out / charge, of["closure"], of["u_closure"])


def trial(folder: Path, style: Style, books: int, cases: int) -> Coverage:
    """So many books of so many cases each, four runs a case; the seed is the number of the book."""
    coverage = Coverage()
    for seed in range(books):
        simulate_book(folder / f"{style.name} {seed}", seed, cases, style, coverage)
    return coverage
