"""The fingerprint of the code is that of what it says, not of how a platform writes it."""

from pathlib import Path

from gaugebook.pipeline.book.code_fingerprint import code_sha256


def write_package(folder: Path, code: str) -> Path:
    (folder / "inner").mkdir(parents=True)
    (folder / "one.py").write_bytes(code.encode())
    (folder / "inner" / "two.sql").write_bytes(b"SELECT 1\n")
    (folder / "notes.txt").write_bytes(code.encode())
    return folder


def test_line_ends_do_not_count(tmp_path):
    """A checkout with CRLF has the same fingerprint as one with LF."""
    unix = write_package(tmp_path / "unix", "a = 1\nb = 2\n")
    windows = write_package(tmp_path / "windows", "a = 1\r\nb = 2\r\n")

    assert code_sha256(unix) == code_sha256(windows)


def test_any_other_change_of_code_counts(tmp_path):
    """A changed line of code gives another fingerprint; a changed text beside the code does not."""
    first = write_package(tmp_path / "first", "a = 1\n")
    second = write_package(tmp_path / "second", "a = 2\n")
    third = write_package(tmp_path / "third", "a = 1\n")
    (third / "notes.txt").write_text("something else")

    assert code_sha256(first) != code_sha256(second)
    assert code_sha256(first) == code_sha256(third)
