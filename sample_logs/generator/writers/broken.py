"""Small files with one fault each, named for the fault. The demo does not receive them."""

from .output import Output
from .workbook import Cell, workbook

_TITLE = "Strip still 1 - controller export\r\ninterval 60 s\r\n"
_COLUMNS = "Time,TI-101,TI-102,TI-103,PI-101,FI-101,QI-101,TI-104\r\n"
_UNITS = "dd.mm.yyyy hh:mm:ss,°C,°C,°C,mbar,L/h,% vol,°C\r\n"
_HEAD = _TITLE + _COLUMNS + _UNITS
_GOOD = "14.10.2025 07:10:00,21.3,20.1,20.0,1006.1,0.0,,\r\n"
_INTAKE = (
    "Lot,Material,Kind,Supplier,Received,Qty kg,Qty L,Qty pcs,Extract % dm,Moisture %,Condition,Best before,Remarks\r\n"
)
_RYE = "rye malt,malt,Maltings A,2025-10-01 09:00,6900,,,80.1"
_DENSITOMETER = (
    "Datum/Zeit;Probe;Charge;Messung;Dichte 20°C [g/cm³];Alkohol [%vol];Temperatur [°C];Methode;Bediener;Eingabe\r\n"
    "02.11.2025 09:20;L-1;NS-2510-01;1;0,80512;96,41;20,00;direkt;DL;auto\r\n"
)
_S2 = "time,tag,value,quality\r\n"


def broken() -> list[Output]:
    """Each a file that a reader must refuse, wholly or in one row, with a reason."""
    texts = {
        "S1_missing_column.csv": _TITLE
        + "Time,TI-101,TI-102,PI-101,FI-101,QI-101,TI-104\r\ndd.mm.yyyy hh:mm:ss,°C,°C,mbar,L/h,% vol,°C\r\n"
        + "14.10.2025 07:10:00,21.3,20.1,1006.1,0.0,,\r\n",
        "S1_bad_number.csv": _HEAD + _GOOD + "14.10.2025 07:11:00,22.o,20.1,20.0,1006.0,0.0,,\r\n",
        "S1_impossible_date.csv": _HEAD + "31.02.2026 07:10:00,21.3,20.1,20.0,1006.1,0.0,,\r\n",
        "S1_empty.csv": "",
        "S1_header_only.csv": _HEAD,
        "S1_broken_quote.csv": _HEAD + '14.10.2025 07:10:00,"21.3,20.1,20.0,1006.1,0.0,,\r\n',
        "S2_unknown_tag.csv": _S2 + "2026-02-06 07:10:00,S2.XX99,21.3,G\r\n",
        "S2_hour_that_clocks_skip.csv": _S2 + "2026-03-29 02:30:00,S2.TT01,21.3,G\r\n",
        "S2_conflicting_values.csv": _S2
        + "2026-02-06 07:10:00,S2.TT01,21.3,G\r\n2026-02-06 07:10:00,S2.TT01,25.9,G\r\n",
        "intake_blank_lot.csv": _INTAKE + f",{_RYE},5.0,,,\r\n",
        "intake_impossible_moisture.csv": _INTAKE + f"RYE-X,{_RYE},150,,,\r\n",
        "intake_stray_separator.csv": _INTAKE + f"RYE-Y,{_RYE},5.0,,,bags, wet,2\r\n",
        "balance_decimal_comma.csv": "Weighed,Run,Lot,Net g,By\r\n"
        + '05.11.2025 06:20,BOT-2511-01,JUN-2510,"9240,5",AQ\r\n',
        "unknown_device.csv": "a,b\r\n1,2\r\n",
        "runs_not_a_workbook.xlsx": "this is text, not a workbook\r\n",
    }  # fmt: skip
    outputs = [Output(f"broken/{name}", text.encode(), ()) for name, text in texts.items()]
    rows: list[list[Cell]] = [["Run sheets"], [], ["Run", "Stage"], ["MSH-2510-01", "mash"]]
    outputs.append(Output("broken/runs_missing_sheet.xlsx", workbook({"Table1": rows}), ()))
    outputs.append(Output("broken/densitometer_wrong_code_page.csv", _DENSITOMETER.encode(), ()))
    return outputs
