"""Every number of every record, and what one value of each is in every unit that measures it.

Written by hand from the sources named here; nothing is shared with the units of the pipeline.
"""

from dataclasses import dataclass

from r22_formula import density, mass_fraction_of_strength, solve, strength

F60_C = (60 - 32) / 1.8

# How many of a quantity's first unit one of each unit is. NIST Special Publication 811 (2008), Appendix B.8 and B.9, to
# its printed digits, where no other source is named; prefixes of the SI by definition.
FACTORS = {
    "volume": {
        "L": 1, "hL": 100, "cL": 0.01, "mL": 0.001, "m3": 1000, "US gal": 3.785412, "wine gal": 3.785412,
        "US fl oz": 0.02957353, "imp gal": 4.54609,
    },
    # Gallon of 100 proof: half of it is alcohol, both at 60 °F (27 CFR 30.11); the alcohol at 20 °C by OIML R 22.
    "pure alcohol": {"LPA": 1, "proof gal": 3.785412 / 2 * density(1.0, F60_C) / density(1.0, 20.0)},
    "mass": {
        "kg": 1, "g": 0.001, "mg": 1e-6, "t": 1000, "lb": 0.4535924, "oz": 0.02834952, "US ton": 907.1847,
    },
    "density": {"kg/m3": 1, "g/cm3": 1000, "g/mL": 1000, "kg/L": 1000, "lb/US gal": 119.8264},
    "pressure": {
        "kPa": 1, "Pa": 0.001, "hPa": 0.1, "mbar": 0.1, "bar": 100, "atm": 101.325, "psi": 6.894757, "psia": 6.894757,
        "inHg": 3.386389, "mmHg": 0.1333224,
    },
    "flow": {
        "L/h": 1, "L/min": 60, "mL/min": 0.06, "hL/h": 100, "m3/h": 1000,
        "US gal/h": 3.785412, "US gal/min": 0.06309020 * 3600,  # gallon per minute: 6.309020 E-05 m3/s
    },
    "mass flow": {"kg/h": 1, "kg/min": 60, "t/h": 1000, "lb/h": 1.259979e-4 * 3600},  # pound per hour in kg/s
    "power": {"kW": 1, "W": 0.001, "MJ/h": 1 / 3.6, "BTU/h": 2.930711e-4},  # Btu (International Table) per hour
    "part": {"pct": 1, "fraction": 100, "g/kg": 0.1},
    "pieces": {"each": 1, "dozen": 12, "thousand": 1000},
    "concentration": {
        "mg/L": 1, "ug/L": 0.001, "g/L": 1000, "g/hL": 10, "mg/100 mL": 10, "g/100 mL": 10_000,
    },
    "per pure alcohol": {"g/hL pa": 1, "mg/L pa": 0.1, "mg/100 mL pa": 1},
    "per mass": {"mg/kg": 1, "ug/kg": 1e-3},
    "acidity": {"ph": 1},
    "turbidity": {"ntu": 1},
    # 27 CFR 5.1: proof is twice the percentage of alcohol by volume at 60 °F; a label states and measures nothing.
    "label": {"pct_vol": 1, "pct_vol_60f": 1, "us_proof": 0.5},
    "age on a label": {"years": 1, "months": 1 / 12},  # 27 CFR 5.74
}  # fmt: skip


def proof_of(q: float) -> float:
    """US proof of a strength at 20 °C [% vol]: twice the volume of alcohol in 100 of liquid, both at 60 °F.

    27 CFR 30.11, with the densities of the general formula of OIML R 22.
    """
    p = mass_fraction_of_strength(q)
    return 200 * p * density(p, F60_C) / density(1.0, F60_C)


def strength_of_proof(proof: float) -> float:
    """The inverse of `proof_of`."""
    p = solve(lambda w: 200 * w * density(w, F60_C) / density(1.0, F60_C) - proof)
    return strength(p)


# What a value in the first unit is in the others, where no factor leads there.
CURVES = {
    # NIST SP 811, 4.2.1.1 and B.6.
    "temperature": {"degC": lambda c: c, "degF": lambda c: c * 9 / 5 + 32, "K": lambda c: c + 273.15},
    "strength": {
        "pct_vol": lambda q: q,
        "us_proof": proof_of,
        "pct_vol_60f": lambda q: proof_of(q) / 2,
        "pct_mass": lambda q: 100 * mass_fraction_of_strength(q),
    },
    "strength at 20 °C": {"pct_vol": lambda q: q, "pct_mass": lambda q: 100 * mass_fraction_of_strength(q)},
    "alcoholmeter": {"pct_vol": lambda q: q},
    "proof": {"us_proof": lambda proof: proof, "pct_vol_60f": lambda proof: proof / 2},
    "hydrometer": {"us_proof": lambda proof: proof},  # right at 60 °F alone: no other unit says what it shows
    # American Society of Brewing Chemists, sugar table: 12 °P is 1.04837 (20/20 °C); Brix and Plato are both % mass of
    # sucrose, ICUMSA SPS-4 (from memory).
    # °Oechsle are the thousandths above 1 (common practice).
    "gravity": {
        "sg": lambda sg: sg,
        "plato": {1.04837: 12.0}.get,
        "brix": {1.04837: 12.0}.get,
        "oechsle": {1.04837: 48.37}.get,
    },
    "number": {},
}


def in_unit(what: str, value: float, unit: str) -> float:
    """What a value in the quantity's first unit is in another, by the tables above."""
    if what in CURVES:
        return CURVES[what][unit](value)
    return value / FACTORS[what][unit]


def units_of(what: str) -> tuple[str, ...]:
    """The units of a quantity."""
    return tuple(CURVES.get(what) or FACTORS.get(what, {}))


@dataclass(frozen=True)
class Case:
    """A field, the word that it goes by, the quantity, a value in the quantity's first unit, and how it is kept."""

    kind: str
    field: str
    what: str
    value: float
    word: str = ""
    kept: str = ""  # unit in which a result is kept; else the field's name says it
    kept_as: float | None = None  # the value as it is kept, where that is not in the first unit

    def __str__(self) -> str:
        return " ".join(part for part in (self.kind, self.field, self.word, self.kept) if part)


LEAVING = ("dispatches", "returns", "samples", "destructions")  # and coming back
_GAUGES = [
    Case(kind, *rest)
    for kind in ("intake", "opening_stock", "movements", "stock", "cask_events", "inventory", *LEAVING)
    for rest in (
        ("volume_temperature_c", "temperature", 15.5),
        ("reading_temperature_c", "temperature", -4.0),
        ("strength_reading", "alcoholmeter", 62.5, "alcoholmeter"),
        ("strength_reading", "density", 901.25, "density"),
        ("strength_reading", "strength at 20 °C", 61.5, "pct_vol_20c"),
        ("strength_reading", "proof", 125.0, "us_proof_60f"),
        ("strength_reading", "hydrometer", 127.5, "us_proof_hydrometer"),
    )
]
CASES = [
    *_GAUGES,
    *(
        Case(kind, "volume_at_t_l", "volume", 321.5)
        for kind in ("opening_stock", "movements", "stock", "cask_events", "inventory", *LEAVING)
    ),
    *(
        Case(kind, *rest)
        for kind in ("inventory", *LEAVING)
        for rest in (
            ("mass_kg", "mass", 402.5),
            ("alcohol_l", "pure alcohol", 95.75),
            ("pieces", "pieces", 12_000.0),
        )
    ),
    Case("casks", "nominal_l", "volume", 200.5),
    Case("casks", "tare_kg", "mass", 51.25),
    Case("casks", "char_level", "number", 4),
    Case("cask_events", "gross_kg", "mass", 231.5),
    Case("cask_events", "tare_kg", "mass", 51.25),
    Case("cask_events", "mass_kg", "mass", 180.25),
    Case("cask_events", "alcohol_l", "pure alcohol", 118.25),
    Case("cask_events", "rinse_l", "volume", 5.5),
    Case("inventory", "gross_kg", "mass", 228.5),
    Case("movements", "mass_kg", "mass", 250.5),
    Case("movements", "pieces", "pieces", 6000.0),
    Case("intake", "quantity_kg", "mass", 1250.0),
    Case("intake", "quantity_l", "volume", 640.0),
    Case("intake", "quantity_pieces", "pieces", 36_000.0),
    Case("intake", "alcohol_l", "pure alcohol", 480.5),
    *(
        Case(kind, *rest)
        for kind in ("intake", "opening_stock")
        for rest in (
            ("extract_pct", "part", 79.5),
            ("moisture_pct", "part", 4.25),
            ("fermentability_pct", "part", 84.5),
            ("purity_pct", "part", 86.5),
            ("total_sugars_pct", "part", 52.5),
            ("reducing_sugars_pct", "part", 16.5),
            ("sucrose_pct", "part", 33.5),
            ("lactose_pct", "part", 14.25),
            ("starch_pct", "part", 61.5),
            ("fructan_pct", "part", 24.5),
            ("juice_l_per_100kg", "number", 70.5),
            ("original_gravity", "gravity", 1.04837),
            ("potential_alcohol_pct_vol", "part", 11.5),
        )
    ),
    *(
        Case(kind, *rest)
        for kind in ("intake", "opening_stock")
        for rest in (
            ("brix", "gravity", 1.04837, "", "", 12.0),
            ("final_gravity", "gravity", 1.04837),
            ("sugar_free_extract_g_l", "concentration", 24_500.0, "", "", 24.5),
            ("sugar_g_l", "concentration", 112_000.0, "", "", 112.0),
        )
    ),
    Case("opening_stock", "mass_kg", "mass", 820.0),
    Case("opening_stock", "alcohol_l", "pure alcohol", 118.25),
    Case("opening_stock", "pieces", "pieces", 1200.0),
    Case("opening_stock", "nominal_ml", "volume", 0.7, kept_as=700.0),
    Case("opening_stock", "label_strength_pct_vol", "label", 40.0),
    Case("bottling", "nominal_ml", "volume", 0.75, kept_as=750.0),
    Case("bottling", "label_strength_pct_vol", "label", 45.0),
    Case("bottling", "label_age_years", "age on a label", 4.0),
    Case("bottling", "bottles_filled", "pieces", 12_000),
    Case("bottling", "bottles_rejected", "pieces", 24_000),
    Case("fills", "net_content_ml", "volume", 0.5015, kept_as=501.5),
    Case("fills", "content_temperature_c", "temperature", 15.5),
    Case("fills", "sample_no", "number", 7),
    Case("panel", "assessors", "number", 24),
    Case("panel", "correct_answers", "number", 9),
    Case("laboratory", "replicate", "number", 2),
    Case("laboratory", "temperature_c", "temperature", 20.5),
    Case("calibrations", "reference_value", "density", 998.2, kept="kg/m3"),
    Case("calibrations", "reference_value", "temperature", 40.0, kept="degC"),
    Case("calibrations", "reference_value", "strength", 54.75, kept="pct_vol"),
    Case("calibrations", "reading", "pressure", 101.5, kept="kPa"),
    Case("calibrations", "reading", "mass", 10.002, kept="kg"),
    Case("readings", "value", "temperature", 78.25, "pot_temperature_c"),
    Case("readings", "value", "temperature", 77.5, "vapour_temperature_c"),
    Case("readings", "value", "temperature", 76.5, "column_temperature_c"),
    Case("readings", "value", "pressure", 98.75, "pressure_kpa"),
    Case("readings", "value", "mass flow", 85.0, "steam_kg_h"),
    Case("readings", "value", "power", 24.5, "heating_kw"),
    Case("readings", "value", "number", 2.5, "reflux_ratio"),
    Case("readings", "value", "flow", 42.5, "distillate_flow_l_h"),
    Case("readings", "value", "strength", 88.5, "parrot_strength_pct_vol"),
    Case("readings", "value", "temperature", 18.5, "parrot_temperature_c"),
    Case("readings", "value", "volume", 120.5, "collected_volume_l"),
    Case("laboratory", "value", "strength", 54.75, "strength", "pct_vol"),
    Case("laboratory", "value", "density", 948.05, "density", "kg/m3"),
    Case("laboratory", "value", "acidity", 4.2, "ph", "ph"),
    Case("laboratory", "value", "turbidity", 0.8, "turbidity", "ntu"),
    Case("laboratory", "value", "gravity", 1.04837, "specific_gravity", "sg"),
    Case("laboratory", "value", "concentration", 15_000.0, "dry_extract", "g/L", 15.0),
    Case("laboratory", "value", "per pure alcohol", 1.25, "dry_extract", "g/hL pa"),
    Case("laboratory", "value", "concentration", 480.0, "methanol", "mg/L"),
    Case("laboratory", "value", "per pure alcohol", 120.0, "methanol", "g/hL pa"),
    Case("laboratory", "value", "per mass", 12.5, "methanol", "mg/kg"),
]

CERTIFICATE = {"brix": "5", "original_gravity": "1.07", "final_gravity": "1.001"}  # a purity has a Brix beside it

# A row of each kind that nothing is wrong with.
ROWS = {
    "intake": {
        "lot": "L", "material": "rye", "kind": "malt", "received_at": "2026-01-02", "quantity_kg": "5", **CERTIFICATE,
    },
    "runs": {},
    "opening_stock": {
        "lot": "L", "material": "rye", "kind": "spirit", "counted_at": "2026-01-02", "volume_at_t_l": "5",
        **CERTIFICATE,
    },
    "movements": {"run": "R", "direction": "in", "lot": "L", "part": "spirit", "mass_kg": "5"},
    "stock": {"vessel": "V", "lot": "L", "gauged_at": "2026-01-02", "volume_at_t_l": "5"},
    "readings": {"equipment": "S", "read_at": "2026-01-02 10:00", "tag": "reflux_ratio", "value": "1"},
    "laboratory": {"sample": "A", "lot": "L", "analyte": "ph", "value": "4", "unit": "ph"},
    "bottling": {
        "lot": "B", "run": "R", "product": "P", "bottled_at": "2026-01-02", "nominal_ml": "500",
        "label_strength_pct_vol": "40", "bottles_filled": "100000", "bottles_rejected": "0",
    },
    "fills": {"lot": "B", "sample_no": "1", "net_content_ml": "500"},
    "panel": {
        "session": "S", "lot": "L", "reference_lot": "M", "test": "triangle", "assessors": "20", "correct_answers": "3",
    },
    "calibrations": {
        "instrument": "I", "checked_at": "2026-01-02", "reference_value": "5", "reading": "5", "unit": "kg",
    },
    "casks": {"cask": "C"},
    "cask_events": {"cask": "C", "event": "filled", "happened_at": "2026-01-02", "lot": "L", "volume_at_t_l": "5"},
    "dispatches": {"lot": "L", "dispatched_at": "2026-01-02", "pieces": "5"},
    "returns": {"lot": "L", "returned_at": "2026-01-02", "pieces": "5"},
    "samples": {"lot": "L", "taken_at": "2026-01-02", "pieces": "5"},
    "destructions": {"lot": "L", "destroyed_at": "2026-01-02", "pieces": "5"},
    "inventory": {
        "counted_at": "2026-01-02", "container": "cased goods", "vessel": "V", "lot": "L", "pieces": "5",
    },
}  # fmt: skip
QUANTITIES = {  # kinds whose rows have exactly one of these
    "intake": ("quantity_kg", "quantity_l", "quantity_pieces", "alcohol_l"),
    **dict.fromkeys(("opening_stock", *LEAVING), ("volume_at_t_l", "mass_kg", "alcohol_l", "pieces")),
    "cask_events": ("volume_at_t_l", "gross_kg", "mass_kg", "alcohol_l"),
}
GOES_BY = {"readings": "tag", "laboratory": "analyte"}
BY_ROW = ("laboratory", "calibrations")  # kinds whose rows state a unit
