"""Books of a few gauges, each received into a folder of its own. Houses and figures are made up."""

from pathlib import Path
from textwrap import dedent

from small_house import HOUSE, LAB_MAP, MOVES_MAP, write_house

from gaugebook.pipeline.intake.flow import receive

CASK = '\n[[vessels]]\ncode = "C1"\nname = "Cask 1"\ncapacity_l = 200.0\nmaterial = "oak"\n'
MOVES_HEAD = "run,dir,lot,part,vessel,L,tV,S,kind,tS,kg,prepared"
LAB_HEAD = "sample;lot;analyte;value;unit;t;rep;instrument;prepared"
INTAKE = """
    lot,material,kind,received,kg,extract,moisture
    SUGAR-1,beet sugar,sweetening,2026-01-02,500,,
    QUINCE-1,quince,fruit,2026-01-02,500,,
    PEEL-1,lemon peel,botanical,2026-01-02,50,,
    RYE-M,rye malt,malt,2026-01-02,500,,
    OAT-M,oat malt,malt,2026-01-02,500,,
    NS-1,neutral spirit,neutral spirit,2026-01-02,500,,
    RUM-1,old rum,neutral spirit,2026-01-02,500,,
"""


def lines(text: str) -> str:
    return dedent(text).strip("\n") + "\n"


def small_book(folder: Path, runs: str, moves: str, lab: str = "", profile: str = "", bottling: str = "") -> Path:
    """Receive runs, gauges and laboratory results of a small house with a cask; the folder of the book."""
    files = {
        "house.toml": HOUSE + CASK + profile,
        "maps/moves.toml": MOVES_MAP + 'preparation = "prepared"\n',
        "maps/lab.toml": LAB_MAP + 'preparation = "prepared"\n',
        "intake.csv": INTAKE,
        "runs.csv": f"run,stage,equipment,product,recipe,started,ended,operator\n{lines(runs)}",
        "moves.csv": f"{MOVES_HEAD}\n{lines(moves)}",
        "lab.csv": f"{LAB_HEAD}\n{lines(lab)}" if lab else f"{LAB_HEAD}\n",
        "bottling.csv": f"lot,run,product,at,bottles,rejected\n{lines(bottling)}",
        "fills.csv": "lot,no,ml\n",
    }
    write_house(folder / "site", files)
    receive(folder / "book", [folder / "site"], None)
    return folder / "book"
