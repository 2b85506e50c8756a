"""The sample book many times over, written straight into typed.* and derived.*: to see how checks grow.

Each copy has names of its own, lies as long after the one before it as the sample lasts, and its measured numbers
differ in the sixth place, so that no row is another's twin.
"""

from gaugebook.pipeline.book.database import Book

DAYS = 400  # from one copy to the next
NAMES = {"run", "lot", "batch", "into_lot", "mash_run", "wash_lot", "sample", "session", "reference_lot", "made_by_run"}
EXACT = {"label_strength_pct_vol", "nominal_ml", "recipe_g_per_lpa", "reference_value", "reading", "overdraw"}
TABLES = """
    SELECT table_schema || '.' || table_name AS name, list({name: column_name, kind: data_type}) AS columns
    FROM information_schema.columns
    JOIN information_schema.tables USING (table_schema, table_name)
    WHERE table_schema IN ('typed', 'derived') AND table_type = 'BASE TABLE'
    GROUP BY ALL ORDER BY 1
"""
LEFT_OUT = ("typed.log_files", "typed.log_blocks", "typed.refused", "typed.row_counts", "typed.amendments")


def copy_batches(book: Book, copies: int) -> None:
    """Add so many copies of all that the book holds."""
    originals = _tables(book)
    for name in originals:
        book.execute(f"CREATE TEMP TABLE original_{name.replace('.', '_')} AS FROM {name}")
    for number in range(1, copies + 1):
        _copy(book, originals, f"-{number}", DAYS * number, "true")


def copy_one(book: Book, batch: str, suffix: str, copies: int) -> None:
    """Add one more batch: a copy of this one with every run and lot behind it, after all that is there."""
    originals = _tables(book)
    for name in originals:
        book.execute(f"CREATE OR REPLACE TEMP TABLE original_{name.replace('.', '_')} AS FROM {name}")
    names = f"""
        (SELECT unnest([run, lot, into_lot]) FROM derived.lineage WHERE batch = '{batch}' UNION SELECT '{batch}'
        UNION SELECT run FROM derived.bottlings WHERE batch = '{batch}')
    """
    _copy(book, originals, suffix, DAYS * (copies + 1), names)
    book.execute(
        "UPDATE derived.build_state SET fingerprint = fingerprint || $suffix", {"suffix": suffix}
    )  # as receiving does


def _tables(book: Book) -> dict[str, list[dict[str, str]]]:
    columns_of = {row["name"]: row["columns"] for row in book.frame(TABLES).to_dicts() if row["name"] not in LEFT_OUT}
    return {name: columns for name, columns in columns_of.items() if NAMES & {column["name"] for column in columns}}


def _copy(book: Book, tables: dict[str, list[dict[str, str]]], suffix: str, days: int, among: str) -> None:
    for name, columns in tables.items():
        known = [column["name"] for column in columns]
        selected = ", ".join(f"{_copied(column, suffix, days)} AS {column['name']}" for column in columns)
        key = next((key for key in ("batch", "run", "lot") if key in known), None)
        if among != "true" and key is None:
            continue
        chosen = "true" if among == "true" else f"{key} IN {among}"
        book.execute(
            f"INSERT INTO {name} ({', '.join(known)}) "
            f"SELECT {selected} FROM original_{name.replace('.', '_')} WHERE {chosen}"
        )


def _copied(column: dict[str, str], suffix: str, days: int) -> str:
    name, kind = column["name"], column["kind"]
    if name in NAMES and kind == "VARCHAR":
        return f"{name} || '{suffix}'"
    if kind == "TIMESTAMP":
        return f"{name} + INTERVAL {days} DAY"
    if kind == "DOUBLE" and name not in EXACT:
        return f"{name} * (1 + 1e-6 * (random() - 0.5))"
    return name
