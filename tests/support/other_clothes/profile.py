"""The house profile in other clothes: other units of the instruments, German names, the same house."""

import tomllib
from pathlib import Path
from typing import Any

from other_clothes.units import KG_A_POUND, LITRES_A_GALLON
from other_clothes.words import HOUSE, MATERIALS, PRODUCTS, RECIPES

# A difference of units: an uncertainty takes the factor of its unit and never its offset.
_UNITS = {
    "DM-1": ("g/cm3", 1e-3),
    "DM-2": ("lb/US gal", LITRES_A_GALLON / KG_A_POUND * 1e-3),
    "SG-1": ("kg/L", 1e-3),
    "BAL-1": ("g", 1e3),
    "BAL-2": ("lb", 1.0 / KG_A_POUND),
    "GC-1": ("mg/L pa", 10.0),
    "TH-1": ("degF", 1.8),
}


def write_profile(source: Path, target: Path) -> None:
    """house.toml of the other house. Its calendar, and so its time zone, stays: months are the same months."""
    house = tomllib.loads((source / "house.toml").read_text(encoding="utf-8"))
    house["house"] |= {"name": HOUSE["Quillmere Stillhouse"], "maps": "maps"}
    house["documents"]["language"] = "de"
    for instrument in house["instruments"]:
        unit, factor = _UNITS.get(instrument["code"], (instrument["unit"], 1.0))
        instrument |= {"unit": unit, "u": instrument["u"] * factor}
    for recipe in house["recipes"]:
        recipe["name"] = RECIPES[recipe["name"]]
        for ingredient in recipe["ingredients"]:
            ingredient["material"] = (MATERIALS | RECIPES)[ingredient["material"]]  # a blend names a recipe
    for product in house["products"]:
        product["name"] = PRODUCTS[product["name"]]
    (target / "house.toml").write_text(_toml(house), encoding="utf-8")


def _toml(house: dict[str, Any]) -> str:
    lines = []
    for key, value in house.items():
        if isinstance(value, list):
            lines += [line for item in value for line in (f"[[{key}]]", *_pairs(item))]
        elif all(isinstance(item, dict) for item in value.values()):
            lines += [line for name, item in value.items() for line in (f"[{key}.{name}]", *_pairs(item))]
        else:
            lines += [f"[{key}]", *_pairs(value)]
    return "\n".join(lines) + "\n"


def _pairs(table: dict[str, Any]) -> list[str]:
    return [f"{key} = {_value(value)}" for key, value in table.items()]


def _value(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(_pairs(value)) + " }"
    return repr(value)
