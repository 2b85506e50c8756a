"""What a source map may say."""

import pytest
from small_house import write_house

from pipeline.errors import SettingsError
from pipeline.flow import receive


@pytest.mark.parametrize("separator", ["", ";;", "¦", '\\"', "\\n"])
def test_a_separator_is_one_plain_character(tmp_path, separator):
    """Anything else is said before a file is read by it."""
    write_house(tmp_path / "site")
    source_map = tmp_path / "site" / "maps" / "fills.toml"
    text = source_map.read_text().replace("[read]\n", f'[read]\nseparator = "{separator}"\n')
    source_map.write_text(text)

    with pytest.raises(SettingsError, match="separator must be one ASCII character"):
        receive(tmp_path / "book", [tmp_path / "site"], None)
