"""`booklet.pdf`: how the prop is put together, step by step."""

from __future__ import annotations

from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.outputs.records import Files, Output


def files(booklet_pages: Document) -> Files:
    return {"booklet.pdf": pdf_bytes(booklet_pages)}


OUTPUT = Output(
    "booklet",
    "the assembly booklet with pictures of the steps",
    files,
    pages={"booklet.pdf": "booklet_pages"},
)
