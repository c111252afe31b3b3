"""`templates.pdf`: every template at true size on pages of paper."""

from __future__ import annotations

from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.outputs.records import Files, Output


def files(template_pages: Document) -> Files:
    return {"templates.pdf": pdf_bytes(template_pages)}


OUTPUT = Output(
    "templates",
    "the templates at true size on pages to print",
    files,
    pages={"templates.pdf": "template_pages"},
)
