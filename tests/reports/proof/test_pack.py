"""The auditor's pack: everything in it can be checked with public tools, by the commands that it prints."""

import json
import re
import subprocess
import zipfile
from shutil import copytree, which

import pytest
from click.testing import CliRunner

from gaugebook.pipeline.errors import GaugebookError
from gaugebook.reports.cli import main

NAME = "pack-2026-01"


@pytest.fixture(scope="module")
def packed(lived_in, tmp_path_factory):
    """Folder in which the pack was written, as a folder and then as a zip."""
    folder = tmp_path_factory.mktemp("packed")
    copytree(lived_in, folder / "book")
    for words in ((), ("--zip",)):
        result = given(folder, "pack", "--month", "2026-01", "--out", folder, *words)
        assert result.exit_code == 0, result.output
    return folder


@pytest.fixture
def pack(packed, tmp_path):
    """A copy of the pack, for a test to do with as it likes."""
    return copytree(packed / NAME, tmp_path / NAME)


def given(folder, *words):
    return CliRunner().invoke(main, ["--book", str(folder / "book"), *map(str, words)])


def printed(pack):
    """The commands of the pack's page, as printed: lines set in, and the program of the second step."""
    text = (pack / "README.txt").read_text()
    program = re.search(r"python3 -c '\n.*?'\n", text, re.DOTALL).group()
    lines = [
        line.strip() for line in text.splitlines() if re.match(r" {5}(sha256sum|jq|mkdir|pdfdetach|grep|head)", line)
    ]
    return program, lines


def run(command, where):
    return subprocess.run(["bash", "-c", command], cwd=where, capture_output=True, text=True)


def test_what_lies_in_it(packed):
    """Dossier, account as document and as table, gauge records, register, checksums and the page that explains."""
    names = sorted(path.relative_to(packed / NAME).as_posix() for path in (packed / NAME).rglob("*") if path.is_file())

    accounts = ["account-2026-01.csv", "account-2026-01.pdf"]
    assert names == [
        "README.txt", "SHA256SUMS", *accounts, "dossiers/RYE-1.pdf", "gauge-records-2026-01.pdf", "register.jsonl",
    ]  # fmt: skip


def test_the_checksums_are_those_of_the_public_tool(pack):
    """sha256sum -c accepts the manifest, which names every other file, and finds a changed one."""
    assert len((pack / "SHA256SUMS").read_text().splitlines()) == 6
    assert run("sha256sum -c SHA256SUMS", pack).returncode == 0
    (pack / "account-2026-01.csv").write_text("place\n")
    assert run("sha256sum -c SHA256SUMS", pack).returncode == 1


def test_the_printed_program_checks_the_register(pack):
    """As printed, with Python alone: it prints the head, and stops at the first entry that was altered or taken out."""
    program, _ = printed(pack)
    lines = (pack / "register.jsonl").read_text().splitlines()
    whole = run(program, pack)
    amended = next(number for number, line in enumerate(lines) if '"kind":"amendment"' in line)

    assert whole.returncode == 0
    assert f"{len(lines)} entries hold, head {json.loads(lines[-1])['own_sha256']}" in whole.stdout
    for altered in (
        [*lines[:amended], lines[amended].replace("79.5", "79.4"), *lines[amended + 1 :]],
        [*lines[:amended], *lines[amended + 1 :]],
    ):
        (pack / "register.jsonl").write_text("\n".join(altered) + "\n")
        done = run(program, pack)
        assert done.returncode == 1
        assert re.match(rf"entry ({amended + 1}|{amended + 2}) does not hold", done.stderr)


@pytest.mark.skipif(which("pdfdetach") is None, reason="needs pdfdetach (poppler-utils)")
def test_every_other_printed_command_runs(pack, tmp_path):
    """Those whose tools are at hand end with 0 and print something, and the document's hash is the register's."""
    _, commands = printed(pack)
    assert len(commands) > 6
    head = json.loads((pack / "register.jsonl").read_text().splitlines()[-3])["own_sha256"]
    shown = {}
    for command in commands:
        if which(command.split()[0]) is None:
            continue
        asked = command.replace("/tmp/inside", str(tmp_path / "inside")).replace("HASH", head)
        asked = asked.replace("LENGTH", "1000").replace("FILE.signed.pdf", "dossiers/RYE-1.pdf")
        done = run(asked, pack)
        assert done.returncode == 0, (asked, done.stderr)
        shown[command] = done.stdout
    document = next(text for command, text in shown.items() if command.startswith("sha256sum dossiers/"))
    said = [json.loads(line) for line in (pack / "register.jsonl").read_text().splitlines()]
    assert document.split()[0] in [entry["payload"]["sha256"] for entry in said if entry["kind"] == "document"]


def test_the_same_book_gives_the_same_bytes(packed, tmp_path):
    """Made again, folder and zip have the same bytes, the zip those of the folder."""
    again = [given(packed, "pack", "--month", "2026-01", "--out", tmp_path, *words) for words in ((), ("--zip",))]

    assert [result.exit_code for result in again] == [0, 0]
    assert (tmp_path / f"{NAME}.zip").read_bytes() == (packed / f"{NAME}.zip").read_bytes()
    with zipfile.ZipFile(packed / f"{NAME}.zip") as archive:
        for name in archive.namelist():
            assert archive.read(name) == (packed / name).read_bytes() == (tmp_path / name).read_bytes()


def test_verify_without_the_book(pack, tmp_path):
    """The extract is enough: the documents hold; an altered one does not; an altered extract names its first entry."""
    ask = ["--book", str(tmp_path / "no book"), "verify", "--register", str(pack / "register.jsonl")]
    files = [str(pack / "dossiers" / "RYE-1.pdf"), str(pack / "account-2026-01.pdf")]
    good = CliRunner().invoke(main, [*ask, *files])
    altered = tmp_path / "altered.pdf"
    altered.write_bytes((pack / "dossiers" / "RYE-1.pdf").read_bytes().replace(b"%PDF-1.7", b"%PDF-1.6"))

    assert good.exit_code == 0, good.output
    assert CliRunner().invoke(main, [*ask, str(altered)]).exit_code == 1
    extract = (pack / "register.jsonl").read_text()
    (pack / "register.jsonl").write_text(extract.replace("misread", "mistyped"))
    broken = CliRunner().invoke(main, [*ask, *files])
    assert broken.exit_code == 1
    assert "(amendment: movements" in broken.output
    (pack / "register.jsonl").write_text("no register\n")
    assert isinstance(CliRunner().invoke(main, ask).exception, GaugebookError)


def test_nothing_to_pack_and_a_folder_with_other_files(packed, pack):
    """A month without anything is refused, and so is a folder in which something else lies."""
    (pack / "mine.txt").write_text("mine")

    assert "nothing to pack" in str(given(packed, "pack", "--month", "2031-01").exception)
    assert "mine.txt" in str(given(packed, "pack", "--month", "2026-01", "--out", pack.parent).exception)
