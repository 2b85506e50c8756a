"""What a source map may say."""

import pytest
from small_house import write_house

from gaugebook.pipeline.errors import SettingsError
from gaugebook.pipeline.intake.flow import receive
from gaugebook.pipeline.received.source_map import read_maps
from gaugebook.pipeline.typed.kinds import RECORDS


@pytest.mark.parametrize("separator", ["", ";;", "¦", '\\"', "\\n"])
def test_a_separator_is_one_plain_character(tmp_path, separator):
    """Anything else is said before a file is read by it."""
    write_house(tmp_path / "site")
    source_map = tmp_path / "site" / "maps" / "fills.toml"
    text = source_map.read_text().replace("[read]\n", f'[read]\nseparator = "{separator}"\n')
    source_map.write_text(text)

    with pytest.raises(SettingsError, match="separator must be one ASCII character"):
        receive(tmp_path / "book", [tmp_path / "site"], None)


@pytest.mark.parametrize("pattern", ["fills_*.csv", "fills_*.csv.gz", "FILLS_*.gz", "fills_*"])
def test_a_packed_file_is_taken_by_a_pattern_with_or_without_its_ending(tmp_path, pattern):
    """A pattern that names the .gz takes such files; one that does not takes them packed and plain."""
    write_house(tmp_path / "site")
    path = tmp_path / "site" / "maps" / "fills.toml"
    path.write_text("\n".join(
        f'files = ["{pattern}"]' if line.startswith("files") else line for line in path.read_text().splitlines()
    ))  # fmt: skip
    source_map = next(one for one in read_maps(path.parent, tuple(RECORDS)) if pattern in one.files)

    assert source_map.takes("Fills_2025Q4.csv.gz")
    assert source_map.takes("fills_2025Q4.csv") is not pattern.endswith("gz")
    assert not source_map.takes("stock_2025Q4.csv.gz")
