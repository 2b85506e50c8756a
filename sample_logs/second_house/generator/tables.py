"""How each kind of file looks: its columns in order, its dialect, how it writes numbers and times."""

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True)
class Table:
    columns: tuple[str, ...]
    delimiter: str = ","
    suffix: str = "csv"
    times: str = "short"  # 1/9/2025 2:05 PM; "split": 01/09/2025 and 02:05 PM; "log": 01/09/2025 02:05:00 PM
    head: tuple[str, ...] = ()  # lines above the header
    thousands: tuple[str, ...] = ()
    decimals: tuple[tuple[str, int], ...] = ()


def _columns(text: str) -> tuple[str, ...]:
    return tuple(column.strip() for column in text.split("|"))


_REGISTER = _columns("Cask No|Cooperage|Recvd|Wood|Size Gal|Char/Toast|Former Contents|Tare Lb|Bldg|Row|Tier|Remarks")
DELIMITED = {
    "receiving": Table(
        _columns("Rec Date|Lot No|Item|Class|Vendor|Net Lb|Gal|Temp F|Proof|Pcs|Brix|Moisture %|Extract % DM|Cert No"
                 "|Rec By|Remarks"), thousands=("Net Lb", "Gal", "Pcs")),
    "cooperage": Table(_REGISTER, times="day"),
    "cooperage_opening": Table(_REGISTER, times="day"),
    "opening_casks": Table(
        _columns("Cask No|Fill Date|Lot No|Spirit|Entry Proof|Orig Gross Lb|Orig Tare Lb|Orig PG|Regauged|Gross Lb"
                 "|Proof|Temp F|PG|Bldg|Row|Tier|Counted By"), times="day"),
    "casklog": Table(
        _columns("Date|Time|Cask No|Action|Run No|Lot No|Gross Lb|Tare Lb|Temp F|Proof|Proof By|Gal|Gal Temp F"
                 "|Other Cask|Rinse Gal|Smp mL|To Loc|Reason|By|Remarks"), delimiter="|", times="split"),
    "shipping": Table(
        _columns("Ship Date|Doc No|Customer|Status|Product|Batch|Cases|Bottles|Size mL|Proof|Bulk Lot/Cask|Gal|Temp F"
                 "|PG|By"), delimiter="\t", suffix="tsv", thousands=("Bottles",)),
    "counts": Table(
        _columns("Counted|Type|Item|Location|Cases|Bottles|Gal|Temp F|Proof|Proof Type|Proof Temp F|Inst"
                 "|Counted By|Second")),
    "lab": Table(_columns("Lot/Batch|Analyzed|Rep|Density g/mL @60F|Proof|Analyst"),
                 decimals=(("Density g/mL @60F", 5), ("Proof", 2))),
    "fillcheck": Table(_columns("Batch|Bottle No|Checked|Net mL @60F|Opr")),
    "calibrations": Table(_columns("Checked|Inst|Reference|Reading|Unit|By")),
    "potstill": Table(
        _columns("Date Time|Run|Pot F|Head F|Cond Out F|Flow gph|Parrot Proof|Parrot F|Steam psig"), times="log",
        head=("Varnamoor Flats Distillery (invented)", "PS1 pot still, 14 plates, 2 min")),
    "column": Table(
        _columns("Date Time|Run|Feed gpm|Base F|Top F|Flow gph|Proof 60F|Baro inHg"), delimiter="\t", suffix="tsv",
        times="log", head=("CC1 continuous column, 2 min",)),
}  # fmt: skip

# Workbooks: file, sheet, kind of record, columns.
SHEETS = {
    "runs": ("runsheets", "Runs", _columns(
        "Run No|Step|Vessel|Recipe|For Product|Started|Finished|Opr|Cut On|Cut Off|Remarks")),
    "gauges": ("runsheets", "Gauges", _columns(
        "Run No|I/O|Lot No|What|Vessel|Date/Time|Gal|Temp F|Proof|Proof Type|Proof Temp F|Brix|Net Lb|Pcs|Inst"
        "|Remarks")),
    "bottling": ("runsheets", "Bottling", _columns(
        "Batch|Run No|Product|Date|Size mL|Label Proof|Label Age|Bottles Filled|Breakage|Cases|Loose|Opr")),
    "returns": ("compliance", "Returns", _columns(
        "Return Date|Return No|Orig Doc No|Customer|Batch|Bottles|Condition|Restocked|By")),
    "samples": ("compliance", "Samples", _columns(
        "Date|Account|Batch/Lot|Kind|Qty|Size mL|Purpose|Recipient|By")),
    "destructions": ("compliance", "Destroyed", _columns(
        "When|Batch/Lot/Cask|Bottles|Gal|Proof|Reason|Witness|By")),
    "gc": ("gc", "Results", _columns(
        "Lot/Batch|Injected|methanol g/100L AA|acetaldehyde g/100L AA|ethyl acetate g/100L AA|n-propanol g/100L AA"
        "|isobutanol g/100L AA|isoamyl alcohol g/100L AA|furfural g/100L AA|ethyl carbamate ug/kg|Analyst")),
    "opening_tanks": ("stock", "Tanks", _columns(
        "Tank|Lot No|Spirit|Account|Gal|Temp F|Proof|Proof Type|Proof Temp F|Inst|Age Youngest Y-M-D|Counted By")),
    "opening_cased": ("stock", "Cased Goods", _columns(
        "Product|Batch|Bottled|Size mL|Proof|Cases|Loose|Bottles|Counted By")),
}  # fmt: skip


def short(moment: datetime) -> str:
    return f"{moment.month}/{moment.day}/{moment.year} {hour12(moment, False)}"


def hour12(moment: datetime, padded: bool, seconds: bool = False) -> str:
    hour = moment.hour % 12 or 12
    return f"{hour:02d}" * padded + f"{hour}" * (not padded) + f":{moment:%M}" + f":{moment:%S}" * seconds + (
        f" {'AM' if moment.hour < 12 else 'PM'}")  # fmt: skip


def time_text(moment: datetime, style: str) -> str:
    if style == "day":
        return f"{moment.month}/{moment.day}/{moment.year}"
    if style == "log":
        return f"{moment:%m/%d/%Y} {hour12(moment, True, True)}"
    return short(moment)
