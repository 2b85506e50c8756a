"""Compiled templates are kept between processes and never speak for another environment."""

import pytest
from jinja2 import DictLoader, Environment

from gaugebook.reports.page.template_cache import KeptTemplates, nothing_worked_in

CONSTANT = '{{ "loss" | told }} {{ 1 + 1 }} {{ "<b>" }}'  # all of it could be worked out while compiling


def environment(folder, said, finalize=str.upper):
    made = Environment(
        loader=DictLoader({"page": CONSTANT}), autoescape=True, bytecode_cache=KeptTemplates(folder),
        **nothing_worked_in(lambda value: finalize(value) if isinstance(value, str) else value),
    )  # fmt: skip
    made.filters["told"] = lambda word: f"{word} {said}"
    return made


def test_a_kept_template_speaks_the_language_that_asks(tmp_path):
    """What one environment compiled is read by another with filters and finish of its own, and says what they say."""
    assert environment(tmp_path, "here").get_template("page").render() == "LOSS HERE 2 &lt;B&gt;"
    kept = list(tmp_path.iterdir())
    assert len(kept) == 1
    written = kept[0].stat().st_mtime_ns
    assert environment(tmp_path, "dort", str.lower).get_template("page").render() == "loss dort 2 &lt;b&gt;"
    assert kept[0].stat().st_mtime_ns == written  # it was read, not compiled again


@pytest.mark.parametrize("content", [b"", b"nonsense", None])
def test_without_a_readable_file_it_is_compiled(tmp_path, content):
    """A file cut short or spoilt is passed over, and where no folder can be made it goes on without."""
    folder = tmp_path / "file" / "kept" if content is None else tmp_path
    (tmp_path / "file").write_text("in the way of a folder", encoding="utf-8")
    environment(folder, "here").get_template("page").render()
    if content is not None:
        for kept in tmp_path.glob("*.bin"):
            kept.write_bytes(content)
    assert environment(folder, "here").get_template("page").render() == "LOSS HERE 2 &lt;B&gt;"
