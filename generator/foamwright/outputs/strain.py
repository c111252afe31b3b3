"""`strain.pdf`: where and how far the foam must give; there is none where no foam has to."""

from __future__ import annotations

from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.outputs.records import Files, Output


def files(strain_pages: Document | None) -> Files:
    return {} if strain_pages is None else {"strain.pdf": pdf_bytes(strain_pages)}


OUTPUT = Output("strain", "where and how far the foam must give", files, pages={"strain.pdf": "strain_pages"})
