"""`gauges.pdf`: the curves of bent panels, to hold against the foam; there is none where none is bent."""

from __future__ import annotations

from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.outputs.records import Files, Output


def files(gauge_pages: Document | None) -> Files:
    return {} if gauge_pages is None else {"gauges.pdf": pdf_bytes(gauge_pages)}


OUTPUT = Output(
    "gauges", "the curves of bent panels, to hold against the foam", files, pages={"gauges.pdf": "gauge_pages"}
)
