"""What was planted, for tests to read: planted_faults.toml; and the count of rows of each file: expected.csv."""

from ..records import Book, Fault
from .output import Output, lines

_HEAD = """# The planted faults of the demo. Each must be flagged by its rule on its records. Written by the generator.
# `records` names what the flag is raised on; for a run and botanical, a run and tag, or a batch and analyte it is
# the pair. Runs of a slow fall and ferments of a malt lot stand one a table.
"""


def planted_faults(book: Book) -> Output:
    """A table a fault, in the order of the rules."""
    faults = sorted(book.faults, key=lambda f: (f.fault, f.rule, f.records))
    text = _HEAD + "".join(_table(fault) for fault in faults)
    return Output("planted_faults.toml", text.encode(), ())


def _table(fault: Fault) -> str:
    records = ", ".join(f'"{record}"' for record in fault.records)
    return (
        f'\n[[faults]]\nfault = "{fault.fault}"\nrule = "{fault.rule}"\nrecords = [{records}]\n'
        f'stops_release = {"true" if fault.stops_release else "false"}\nwhere = "{fault.where}"\n'
    )


def expected(outputs: list[Output]) -> Output:
    """File, kind of record, and what becomes of its rows when it is received first."""
    rows = [
        [o.path, s.kind, s.rows, s.rows - s.refused - s.passed_over, 0, s.refused, s.passed_over]
        for o in sorted(outputs, key=lambda o: o.path)
        for s in o.sections
    ]
    header = ["file", "kind", "rows_in", "kept", "held", "refused", "passed_over"]
    return Output("expected.csv", lines([header, *rows]).replace(b"\r\n", b"\n"), ())
