"""The table that `make coverage` prints."""

from coverage_by_folder import by_folder


def file(statements: int, run: int, branches: int, taken: int) -> dict[str, dict[str, int]]:
    """A file's entry in the report of coverage."""
    counts = {"num_statements": statements, "covered_lines": run, "num_branches": branches, "covered_branches": taken}
    return {"summary": counts}


def test_folders_are_sums_of_their_files_and_the_least_covered_comes_first():
    """Lines and branches weigh alike, as coverage itself counts them: (6 + 3 + 2) of (8 + 4 + 4) is 68.75 %."""
    report = {"files": {
        "pipeline/book/a.py": file(4, 4, 2, 2), "pipeline/landed/a.py": file(8, 6, 4, 2),
        "pipeline/landed/b.py": file(0, 0, 0, 0), "gaugebook/pipeline/landed/c.py": file(4, 3, 0, 0),
        "checks/__init__.py": file(0, 0, 0, 0),
    }}  # fmt: skip

    assert by_folder(report) == [("pipeline/landed", 68.75, 3, 2), ("pipeline/book", 100.0, 0, 0)]
