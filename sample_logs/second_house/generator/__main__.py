"""python -m sample_logs.second_house.generator [--plan PLAN] [--out FOLDER]: write all files and answers anew."""

import argparse
import shutil
from pathlib import Path

from .answers import expected, faults, movements
from .scenario import simulate
from .writers import files

HERE = Path(__file__).parent


def outputs(plan: Path) -> dict[str, bytes]:
    """Every file that the plan gives, by its path below the house's folder."""
    sim = simulate(plan)
    made = {f"files/{path}": content for path, content in files(sim).items()}
    return made | {"expected.csv": expected(sim), "true_movements.csv": movements(sim),
                   "planted_faults.toml": faults(sim)}  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plan", type=Path, default=HERE / "plan.toml")
    parser.add_argument("--out", type=Path, default=HERE.parent)
    options = parser.parse_args()
    made = outputs(options.plan)
    shutil.rmtree(options.out / "files", ignore_errors=True)
    for path, content in made.items():
        target = options.out / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    print(f"{len(made)} files, {sum(map(len, made.values())) / 1e6:.2f} MB")


if __name__ == "__main__":
    main()
