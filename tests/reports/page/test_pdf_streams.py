"""Deflated streams are read by another program (pikepdf) as they were."""

from io import BytesIO

import pikepdf
import pydyf

from gaugebook.reports.page.pdf_streams import deflate

TABLE = b"stream\nrun,volume_l\nSTR-1,250.0\nendstream\n" * 50


def test_streams_keep_their_content_and_those_left_plain_stay_plain():
    """A stream of numbers and words and one of bytes are deflated; what must stand open (metadata) stays open."""
    made = pydyf.PDF()
    drawn = pydyf.Stream(["q", 1.5, b"w", pydyf.Dictionary({"A": 1}), "Q"], compress=True)
    attached = pydyf.Stream([TABLE], {"Type": "/EmbeddedFile"}, compress=True)
    plain = pydyf.Stream([TABLE])
    for stream in (drawn, attached, plain):
        made.add_object(stream)
    deflate(made)
    out = BytesIO()
    made.write(out)
    with pikepdf.open(BytesIO(out.getvalue())) as read:
        found = [read.get_object(stream.number, 0) for stream in (drawn, attached, plain)]
        assert [item.read_bytes() for item in found] == [b"q\n1.5\nw\n<</A 1>>\nQ", TABLE, TABLE]
        assert ["/Filter" in item for item in found] == [True, True, False]
        assert found[1].Type == "/EmbeddedFile"
        assert len(found[1].read_raw_bytes()) < len(TABLE) / 10
