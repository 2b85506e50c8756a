"""The sample house told once more: the same house in other units, zones, separators, files and words.

`write_other_house` reads the sample's files by itself and writes a second house's files, source maps and profile.
Whatever the program makes of the two must agree, to the rounding of the telling (eight digits behind the decimal mark).
"""

from pathlib import Path

from other_clothes import laboratory, logs, profile, sheets, stores

_KINDS = {
    "brennblase_1": (logs.S1_MAP, logs.write_s1),
    "brennblase_2": (logs.S2_MAP, logs.write_s2),
    "rektifikation": (logs.R1_MAP, logs.write_r1),
    "geistblase": (logs.G1_MAP, logs.write_g1),
    "laeufe": (sheets.RUNS_MAP, sheets.write_runs),
    "messungen": (sheets.GAUGES_MAP, sheets.write_gauges),
    "abfuellung": (sheets.BOTTLING_MAP, sheets.write_bottling),
    "staerken": (laboratory.STRENGTH_MAP, laboratory.write_strengths),
    "begleitstoffe": (laboratory.CONGENERS_MAP, laboratory.write_congeners),
    "spindeln": (laboratory.GRAVITIES_MAP, laboratory.write_gravities),
    "extrakte": (laboratory.RESIDUE_MAP, laboratory.write_residues),
    "verkostung": (laboratory.PANEL_MAP, laboratory.write_panels),
    "pruefmittel": (laboratory.CALIBRATIONS_MAP, laboratory.write_calibrations),
    "wareneingang": (stores.INTAKE_MAP, stores.write_intake),
    "gewuerzwaage": (stores.BALANCE_MAP, stores.write_balance),
    "fuellmengen": (stores.FILLS_MAP, stores.write_fills),
    "peilungen": (stores.STOCK_MAP, stores.write_stock),
}


def write_other_house(source: Path, target: Path) -> Path:
    """Files, maps and profile of the other house; the folder of its files."""
    files, maps = target / "Eingang", target / "maps"
    files.mkdir(parents=True)
    maps.mkdir()
    profile.write_profile(source, target)
    for name, (text, write) in _KINDS.items():
        (maps / f"{name}.toml").write_text(text, encoding="utf-8")
        write(source, files)
    return files
