"""Files of the small house, spoilt in the ways that devices, people and attackers spoil them. Seeded."""

import random
import zipfile
from collections.abc import Callable, Iterator
from io import BytesIO
from textwrap import dedent

from small_house import FILES

ODD_CELLS = (
    "", " ", "n/a", "-5", "1e308", "1e999", "NaN", "inf", "0x1F", "1,5", "1.5.2", "=1+1", "@SUM(A1)", "+49",
    "'; DROP TABLE x", "../../etc/passwd", "..\\..\\windows", "C:\\lot", "1900-01-01 00:00", "2999-12-31 23:59",
    "2026-02-30 10:00", "2025-10-26 02:30", "2026-03-29 02:30", "\u202egnp.exe", "\ufeff", "\u0661\u0662", "🥃",
    "x" * 5000, "9" * 400, "true", "None",
)  # fmt: skip


def _cut(text: str, chance: random.Random) -> bytes:
    return text[: chance.randrange(len(text))].encode()


def _swap_columns(text: str, chance: random.Random) -> bytes:
    mark = ";" if ";" in text else ","
    rows = [line.split(mark) for line in text.splitlines()]
    a, b = (chance.randrange(len(max(rows, key=len))) for _ in range(2))
    for row in rows[chance.randrange(2) :]:
        if max(a, b) < len(row):
            row[a], row[b] = row[b], row[a]
    return "\n".join(mark.join(row) for row in rows).encode()


def _odd_cell(text: str, chance: random.Random) -> bytes:
    lines = text.splitlines()
    number = chance.randrange(len(lines))
    mark = ";" if ";" in text else ","
    cells = lines[number].split(mark)
    cells[chance.randrange(len(cells))] = chance.choice(ODD_CELLS)
    lines[number] = mark.join(cells)
    return "\n".join(lines).encode()


def _odd_encoding(text: str, chance: random.Random) -> bytes:
    return (text + "é°µ€\n").encode(
        chance.choice(["cp1252", "utf-16", "utf-16-le", "utf-8-sig", "utf-7"]), errors="replace"
    )


def _odd_bytes(text: str, chance: random.Random) -> bytes:
    content = bytearray(text.encode())
    for _ in range(chance.randrange(1, 6)):
        content[chance.randrange(len(content))] = chance.choice([0, 7, 10, 13, 34, 44, 59, 127, 200, 255])
    return bytes(content)


def _double_lines(text: str, chance: random.Random) -> bytes:
    lines = text.splitlines()
    lines.insert(chance.randrange(len(lines)), chance.choice(lines))
    return "\r\n".join(lines).encode()


def _huge_field(text: str, chance: random.Random) -> bytes:
    return (text + '"' + "z" * chance.choice([1_000, 99_000, 150_000]) + '",1\n').encode()


def _blank_lines(text: str, chance: random.Random) -> bytes:
    return text.replace("\n", chance.choice(["\n\n", "\n,,,,\n", "\n \n", "\r"])).encode()


def _open_quote(text: str, chance: random.Random) -> bytes:
    place = chance.randrange(len(text))
    return (text[:place] + '"' + text[place:]).encode()


MUTATIONS: tuple[Callable[[str, random.Random], bytes], ...] = (
    _cut, _swap_columns, _odd_cell, _odd_cell, _odd_cell, _odd_encoding, _odd_bytes, _double_lines, _huge_field,
    _blank_lines, _open_quote,
)  # fmt: skip


def mutated_files(count: int, seed: int) -> Iterator[tuple[str, bytes]]:
    """Names that a map of the small house takes, with spoilt content."""
    chance = random.Random(seed)
    names = sorted(FILES)
    for number in range(count):
        name = chance.choice(names)
        text = dedent(FILES[name]).lstrip("\n")
        content = chance.choice(MUTATIONS)(text, chance)
        for _ in range(chance.choice([0, 0, 1])):
            content = (
                chance.choice(MUTATIONS)(content.decode(errors="replace"), chance) if len(content) > 40 else content
            )
        stem, _, suffix = name.rpartition(".")
        yield f"{stem}_{number:05d}.{suffix}", content


def zip_bomb() -> bytes:
    """A workbook of a few kilobytes whose one sheet unpacks to half a gigabyte and more."""
    packed = BytesIO()
    with (
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet,
    ):
        for _ in range(520):
            sheet.write(bytes(1_000_000))
    return packed.getvalue()
