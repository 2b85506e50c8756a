"""python -m sample_logs.generator: write all files of the demo anew."""

from .files import write

if __name__ == "__main__":
    written = write()
    size = sum(path.stat().st_size for path in written)
    print(f"{len(written)} files, {size / 1e6:.1f} MB")
