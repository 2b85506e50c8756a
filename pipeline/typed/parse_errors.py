"""ParseErrors of cells and rows, collected while a section is typed; each becomes a row of typed.refused."""

from dataclasses import dataclass, field

import polars as pl

FAULT_SCHEMA = {
    "line": pl.Int32, "code": pl.String, "column_name": pl.String, "value": pl.String,
    "expected": pl.String, "to_do": pl.String,
}  # fmt: skip


@dataclass
class ParseErrors:
    """ParseErrors found so far, by line."""

    frames: list[pl.DataFrame] = field(default_factory=list)

    def add(
        self,
        lines: pl.Series,
        values: pl.Series,
        is_bad: pl.Series,
        *,
        code: str,
        column: str,
        expected: str,
        to_do: str,
    ) -> None:
        """Note a fault on each line where `is_bad` holds."""
        if not is_bad.any():
            return
        bad = pl.DataFrame({"line": lines.filter(is_bad), "value": values.filter(is_bad).cast(pl.String)})
        self.frames.append(
            bad.select(
                pl.col("line").cast(pl.Int32),
                pl.lit(code).alias("code"),
                pl.lit(column).alias("column_name"),
                pl.col("value"),
                pl.lit(expected).alias("expected"),
                pl.lit(to_do).alias("to_do"),
            )
        )

    def frame(self) -> pl.DataFrame:
        """All faults, in order of line."""
        if not self.frames:
            return pl.DataFrame(schema=FAULT_SCHEMA)
        return pl.concat(self.frames).sort("line", maintain_order=True)
