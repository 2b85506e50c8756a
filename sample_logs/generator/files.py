"""All files of the demo: made, and put in their places."""

from pathlib import Path

from .simulation import simulate
from .writers import broken, faults_file, laboratory_files, run_sheets, still_logs, store_files
from .writers.output import Output

HOME = Path(__file__).parent.parent
WRITERS = (
    still_logs.still_logs,
    run_sheets.run_sheets,
    laboratory_files.densitometer,
    laboratory_files.chromatograph,
    laboratory_files.gravities,
    laboratory_files.residues,
    store_files.intake,
    store_files.balance,
    store_files.fills,
    store_files.stock,
    store_files.calibrations,
    store_files.panels,
)


def outputs() -> list[Output]:
    """Every file that the generator writes."""
    book = simulate().book
    received = [output for writer in WRITERS for output in writer(book)]
    return [*received, *broken.broken(), faults_file.planted_faults(book), faults_file.expected(received)]


def write(home: Path = HOME) -> list[Path]:
    """Write all files below a folder; files of earlier runs that are no longer made are removed."""
    made = outputs()
    paths = [home / output.path for output in made]
    for folder in {path.parent for path in paths} - {home}:
        folder.mkdir(parents=True, exist_ok=True)
        for left in set(folder.iterdir()) - set(paths):
            left.unlink()
    for path, output in zip(paths, made, strict=True):
        path.write_bytes(output.content)
    return paths
