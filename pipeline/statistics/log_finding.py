"""What is found in a log: a kind, a sensor, a time from and to, and how much."""

from dataclasses import dataclass

KINDS = (
    "irregular sampling", "gap", "duplicate", "clock step", "spike", "stuck", "saturated", "drift", "off equilibrium",
)  # fmt: skip


@dataclass(frozen=True)
class Finding:
    """One thing found; times in seconds on the log's own clock, `size` in the unit that `detail` names."""

    kind: str
    tag: str | None  # None: the whole row, or the clock
    first_s: float
    last_s: float
    size: float
    detail: str
    may_be_clock_step: bool = False  # a gap that nothing in the log tells from a clock set forward
