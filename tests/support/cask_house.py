"""A made-up house with casks: its files have a column a field, under the field's own name."""

import csv
from collections.abc import Mapping, Sequence
from pathlib import Path

from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.typed.kinds import RECORDS

HOUSE = """
[house]
name = "House of the cask tests (invented)"
time_zone = "UTC"
site_altitude_m = 0.0
maps = "maps"

[uncertainty]
volume_pct = 0.4
mass_pct = 0.1
temperature_c = 0.3
alcoholmeter_pct_vol = 0.15
density_kg_m3 = 0.1
strength_pct_vol = 0.1
scatter = 0.8

[[vessels]]
code = "T1"
name = "Tank 1"
capacity_l = 5000.0
material = "stainless steel"
u_volume_pct = 0.3

[[vessels]]
code = "T2"
name = "Tank 2"
capacity_l = 5000.0
material = "stainless steel"
u_volume_pct = 0.3

[[people]]
code = "AB"
role = "head distiller"

[[people]]
code = "QA"
role = "qa lead"

[[products]]
code = "WHISKY"
name = "Whisky of the tests"
category = "whisky"
jurisdiction = "EU"
label_strength_pct_vol = 40.0
nominal_ml = 500.0
macerated = false
"""

Rows = Sequence[Mapping[str, object]]


def cask_book(folder: Path, profile: str = "", **kinds: Rows) -> Path:
    """Receive records of these kinds into a book of this folder; a row is its filled fields.

    >>> cask_book(Path("book"), casks=[{"cask": "C1", "tare_kg": 50}])  # doctest: +SKIP
    """
    site = folder / "site"
    (site / "maps").mkdir(parents=True)
    (site / "house.toml").write_text(HOUSE + profile, encoding="utf-8")
    for kind, rows in kinds.items():
        names = list(dict.fromkeys(name for row in rows for name in row))
        _write_map(site / "maps" / f"{kind}.toml", kind, names)
        with (site / f"{kind}.csv").open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, names)
            writer.writeheader()
            writer.writerows(rows)
    receive(folder / "book", [site], site / "house.toml")
    return folder / "book"


def _write_map(path: Path, kind: str, names: Sequence[str]) -> None:
    record = RECORDS[kind]
    lines = [f'describes = "{kind} (invented)"', f'files = ["{kind}.csv"]', "[read]", 'format = "csv"', "[[records]]"]
    lines += [f'kind = "{kind}"', f'header = ["{names[0]}"]', "[records.columns]"]
    for name in names:
        field = record.field(name)
        if field.unit_field is None and field.type == "number" and field.unit:
            lines.append(f'{name} = {{ column = "{name}", unit = "{field.unit}" }}')
        elif name == "strength_reading":
            lines.append(f'{name} = {{ column = "{name}", unit = "pct_vol" }}')
        else:
            lines.append(f'{name} = "{name}"')
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


# Some rows to begin with.
OPENING = [
    {
        "lot": "NM-1", "material": "new make", "kind": "spirit", "vessel": "T1", "counted_at": "2024-01-01",
        "volume_at_t_l": 1000, "strength_reading": 62.5, "reading_kind": "pct_vol_20c",
    },
    {
        "lot": "OLD-1", "material": "whisky", "kind": "spirit", "vessel": "C9", "counted_at": "2024-01-01",
        "alcohol_l": 90,
    },
]  # fmt: skip
CASKS = [{"cask": f"C{number}", "tare_kg": 50, "nominal_l": 200, "wood": "american oak"} for number in (1, 2, 9)]


def filled(cask: str, litres: float, on: str, **more: object) -> dict[str, object]:
    """A filling from the tank at 62.5 % vol."""
    return event(cask, "filled", on, lot="NM-1", volume_at_t_l=litres, strength_reading=62.5) | more


def event(cask: str, what: str, on: str, **more: object) -> dict[str, object]:
    """An event of a cask; volumes and strengths are at 20 °C."""
    read = {"reading_kind": "pct_vol_20c"} if "strength_reading" in more else {}
    warmth = {"volume_temperature_c": 20} if "volume_at_t_l" in more else {}
    return {"cask": cask, "event": what, "happened_at": on} | more | read | warmth
