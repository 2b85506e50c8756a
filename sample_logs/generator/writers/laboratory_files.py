"""The laboratory's files: density meter, chromatograph, gravities, residue on evaporation."""

from gaugebook.pipeline.engineering.ethanol_water import density
from gaugebook.pipeline.engineering.strength import mass_fraction_from_volume_strength

from ..chance import bounded, stream
from ..records import Book, Result
from .output import Output, Section, by_month, lines, shown
from .workbook import Cell, workbook

DENSITOMETER = (
    "Datum/Zeit", "Probe", "Charge", "Messung", "Dichte 20°C [g/cm³]", "Alkohol [%vol]", "Temperatur [°C]", "Methode",
    "Bediener", "Eingabe",
)  # fmt: skip
CONGENERS = {
    "methanol": "Methanol", "acetaldehyde": "Acetaldehyde", "ethyl_acetate": "Ethyl acetate", "propanol": "1-Propanol",
    "isobutanol": "Isobutanol", "isoamyl_alcohol": "Isoamyl alcohol", "furfural": "Furfural",
}  # fmt: skip


def densitometer(book: Book) -> list[Output]:
    """Semicolons, decimal commas, a German menu, an old code page."""
    outputs = []
    for month, results in by_month((r for r in book.results if r.analyte == "strength"), lambda r: r.measured).items():
        rows = [_densitometer_row(r) for r in results]
        content = lines([DENSITOMETER, *rows], ";", "cp1252")
        outputs.append(Output(f"{month}/densitometer_{month}.csv", content, (Section("laboratory", len(rows)),)))
    return outputs


def _densitometer_row(result: Result) -> list[object]:
    rng = stream(f"densitometer {result.sample} {result.replicate}")
    rho = float(density(mass_fraction_from_volume_strength(result.value), 20.0)) / 1000.0
    return [
        f"{result.measured:%d.%m.%Y %H:%M}", result.sample, result.lot, result.replicate, shown(rho, 5, ","),
        shown(result.value, 2, ","), shown(bounded(rng, 20.0, 0.006), 2, ","),
        "Destillat" if result.distilled else "direkt", "DL", "manuell" if result.typed_by_hand else "auto",
    ]  # fmt: skip


def chromatograph(book: Book) -> list[Output]:
    """A table a month, a row a sample, a column a congener [g/hL of pure alcohol]."""
    outputs = []
    found = [r for r in book.results if r.analyte in CONGENERS]
    for month, results in by_month(found, lambda r: r.measured).items():
        samples: dict[str, list[Result]] = {}
        for result in results:
            samples.setdefault(result.sample, []).append(result)
        rows: list[list[Cell]] = [["Congeners, g/hL of pure alcohol"], []]
        rows.append(["Sample", "Lot", "Injected", "Analyst", *CONGENERS.values()])
        rows += [_chromatograph_row(items) for items in samples.values()]
        content = workbook({"Results": rows})
        outputs.append(Output(f"{month}/gc_{month}.xlsx", content, (Section("laboratory", len(samples)),)))
    return outputs


def _chromatograph_row(results: list[Result]) -> list[Cell]:
    first = results[0]
    by_analyte = {r.analyte: r for r in results}
    cells = [_congener(by_analyte.get(analyte)) for analyte in CONGENERS]
    return [first.sample, first.lot, first.measured, "DL", *cells]


def _congener(result: Result | None) -> Cell:
    if result is None:
        return None
    if result.below_limit:
        return f"<{result.value:.2f}"
    return round(result.value, 0 if result.value >= 100.0 else 1 if result.value >= 10.0 else 2)


def gravities(book: Book) -> list[Output]:
    """Specific gravities of worts and washes, typed in by the brewers."""
    outputs = []
    found = [r for r in book.results if r.analyte == "specific_gravity"]
    for month, results in by_month(found, lambda r: r.measured).items():
        rows = [
            [f"{r.measured:%Y-%m-%d %H:%M}", r.sample, r.lot, shown(r.value, 4), _ph(r), "CM", None] for r in results
        ]
        content = lines([["measured", "sample", "lot", "sg 20/20", "pH", "initials", "remarks"], *rows])
        outputs.append(Output(f"{month}/gravities_{month}.csv", content, (Section("laboratory", len(rows)),)))
    return outputs


def _ph(result: Result) -> str:
    rng = stream(f"ph {result.lot}")
    return f"{bounded(rng, 5.35 if result.lot.startswith('WORT') else 4.15, 0.06):.2f}"


def residues(book: Book) -> list[Output]:
    """Residue on evaporation, in the months that have any."""
    outputs = []
    found = [r for r in book.results if r.analyte == "dry_extract"]
    for month, results in by_month(found, lambda r: r.measured).items():
        rows = [[f"{r.measured:%Y-%m-%d %H:%M}", r.sample, r.lot, shown(r.value, 2), "DL"] for r in results]
        content = lines([["measured", "sample", "lot", "dry extract g/L", "analyst"], *rows])
        outputs.append(Output(f"{month}/residue_{month}.csv", content, (Section("laboratory", len(rows)),)))
    return outputs
