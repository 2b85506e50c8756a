"""Coverage by branch, folder by folder: reads coverage's JSON report and prints the least covered folder first.

coverage json -q -o - | python tests/support/coverage_by_folder.py
"""

import json
import sys
from collections import defaultdict
from pathlib import PurePosixPath
from typing import Any

COUNTS = ("num_statements", "covered_lines", "num_branches", "covered_branches")


def by_folder(report: dict[str, Any]) -> list[tuple[str, float, int, int]]:
    """Folder, per cent covered of lines and branches together, missed lines, missed branches; the least first.

    A file without statements (an empty `__init__.py`) covers nothing and misses nothing.
    """
    sums: defaultdict[str, list[int]] = defaultdict(lambda: [0, 0, 0, 0])
    for name, file in report["files"].items():
        folder = str(PurePosixPath(name).parent).removeprefix("gaugebook/")
        sums[folder] = [total + file["summary"][key] for total, key in zip(sums[folder], COUNTS, strict=True)]
    rows = []
    for folder, (lines, lines_run, branches, branches_run) in sums.items():
        if lines + branches:
            share = 100 * (lines_run + branches_run) / (lines + branches)
            rows.append((folder, share, lines - lines_run, branches - branches_run))
    return sorted(rows, key=lambda row: (row[1], row[0]))


if __name__ == "__main__":
    print("covered  lines missed  branches missed  folder")
    for folder, share, lines, branches in by_folder(json.load(sys.stdin)):
        print(f"{share:6.1f} %  {lines:11}  {branches:15}  {folder}")
