"""The house of the cask tests with a batch: 200 bottles of half a litre, filled at 41.3 % vol on 10 January 2026."""

from pathlib import Path

from cask_house import Rows, cask_book

EACH_L = 0.5 * 0.413  # litres of pure alcohol in a bottle: 0.2065

LIQUID = {
    "lot": "LIQ-1",
    "material": "whisky at bottling strength",
    "kind": "spirit",
    "vessel": "T2",
    "counted_at": "2026-01-01",
    "volume_at_t_l": 120,
    "volume_temperature_c": 20,
    "strength_reading": 41.3,
    "reading_kind": "pct_vol_20c",
}
RUN = {
    "run": "BOT-1",
    "stage": "bottle",
    "equipment": "LINE",
    "product": "WHISKY",
    "started_at": "2026-01-10T08:00",
    "ended_at": "2026-01-10T12:00",
    "operator": "AB",
}
FILLED = [
    {
        "run": "BOT-1",
        "direction": "in",
        "lot": "LIQ-1",
        "part": "liquid",
        "vessel": "T2",
        "gauged_at": "2026-01-10T08:00",
        "volume_at_t_l": 100.5,
        "volume_temperature_c": 20,
        "strength_reading": 41.3,
        "reading_kind": "pct_vol_20c",
    },
    {"run": "BOT-1", "direction": "out", "lot": "B-1", "part": "bottles", "gauged_at": "2026-01-10T12:00"},
]
BOTTLING = {
    "lot": "B-1",
    "run": "BOT-1",
    "product": "WHISKY",
    "bottled_at": "2026-01-10T12:00",
    "nominal_ml": 500,
    "label_strength_pct_vol": 41.3,
    "bottles_filled": 200,
    "bottles_rejected": 0,
    "operator": "AB",
}


def goods_book(folder: Path, profile: str = "", **kinds: Rows) -> Path:
    """Receive the batch and records of these kinds; those of kinds that it has come beside its own."""
    own = {"opening_stock": [LIQUID], "runs": [RUN], "movements": FILLED, "bottling": [BOTTLING]}
    every = {kind: [*own.get(kind, []), *kinds.get(kind, [])] for kind in [*own, *(k for k in kinds if k not in own)]}
    return cask_book(folder, profile, **every)


def gone(pieces: float, on: str, **more: object) -> dict[str, object]:
    """Bottles of the batch dispatched on a day to a customer in bond."""
    dispatch = {"lot": "B-1", "pieces": pieces, "dispatched_at": on, "customer": "K-1", "duty_status": "in bond"}
    return dispatch | {"document": f"D {on} {pieces}"} | more


def moved(kind_time: str, pieces: float, on: str, **more: object) -> dict[str, object]:
    """Bottles of the batch returned, sampled or destroyed: moved("taken_at", 2, "2026-02-01", purpose="panel")."""
    return {"lot": "B-1", "pieces": pieces, kind_time: on} | more


def counted(pieces: float, on: str, **more: object) -> dict[str, object]:
    """A count of the batch in the store."""
    return {"lot": "B-1", "container": "cased goods", "pieces": pieces, "counted_at": on, "counted_by": "AB"} | more
