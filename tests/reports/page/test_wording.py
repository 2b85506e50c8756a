"""Words on a page: what belongs together stays on a line."""

import pytest

from gaugebook.reports.page.wording import unbroken


@pytest.mark.parametrize(
    ("sentence", "together"),
    [
        ("strength 9.43 ± 0.20 % vol", "9.43 ± 0.20 % vol"),
        ("+14.3 % vol from its mean", "14.3 % vol"),
        ("a loss of 2.1 % of in", "2.1 %"),
        ("less than the others (± 8.6 LPA)", "± 8.6 LPA"),
        ("isobutanol 0.1 ± 1.0 g/hL pa; methanol", "0.1 ± 1.0 g/hL pa"),
        ("strength on the label [% vol]", "[% vol]"),
    ],
)
def test_a_figure_keeps_its_whole_unit(sentence, together):
    """The unit "% vol" is one: neither half of it goes to the next line alone."""
    assert f'<data class="nb">{together}</data>' in unbroken(sentence)
